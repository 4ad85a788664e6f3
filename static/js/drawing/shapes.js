// Drawings on a frame, without the page: what is kept, what is painted of it, and what a hand
// does to it. The format and the sums are those of portal/review/chalk.py, which paints stills.

export const SCHEMA = "drawing/1";
export const HIGH = 1000;
export const MOST = { shapes: 64, points: 2048, stroke: 512, letters: 80 };
/** A shape is whole when it has so many points; a free stroke when the hand says so. */
export const NEEDS = { line: 2, arrow: 2, free: 2, ellipse: 2, angle: 3, text: 1 };
export const WIDTH = 0.008;
export const LETTERS_HIGH = 0.055;
const WRITABLE = /[ -~¡-¬®-ž–—‘’“”…€]/u;
const EDGE = [-0.05, 1.05];
const DIGITS = 1e5;
const SHORTEST_LEG = 0.004;
export const UNSURE = 5;

const CASING_SHARE = 0.42;
const [HEAD, HEAD_SHARE, SHAFT] = [5, 0.6, 0.9];
const ROUND = 96;
const FIGURE_SIZE = 44;
const FIGURE_LETTERS = "0123456789° ±";
const FIGURE_WIDTHS = [
  0.601, 0.411, 0.526, 0.552, 0.582, 0.529, 0.566, 0.528, 0.573, 0.555, 0.353, 0.2, 0.582,
];
const [PADDING, SCRAP_HIGH, NOTCH, GAP] = [16, 62, 14, 26];

const tidy = (number, [low, high] = EDGE) =>
  Math.round(Math.min(high, Math.max(low, number)) * DIGITS) / DIGITS;
export const point = ([x, y]) => [tidy(x), tidy(y)];
const turned = (degrees) => (degrees * 180) / Math.PI;

/** A new shape of the format; `error` is how far off the hand may be, a share of the height. */
export function makeShape(k, p, { words = "", error = 0 } = {}) {
  const own = {
    text: { s: writable(words), h: LETTERS_HIGH },
    angle: { e: tidy(error, [0.0005, 0.1]) },
  };
  return { k, p: p.map(point), w: WIDTH, ...own[k] };
}

/** Without what our letters cannot write. */
export function writable(words) {
  const letters = [...words.normalize("NFC")].filter((letter) => WRITABLE.test(letter));
  return letters.slice(0, MOST.letters).join("");
}

/** Whether the shape says something: neither a point nor an angle without legs. */
export function isShape({ k, p, s }, aspect) {
  if (p.length < NEEDS[k]) return false;
  if (k === "text") return s.trim() !== "";
  if (k === "angle") return Math.min(...legs(p, aspect)) >= SHORTEST_LEG;
  return p.some((each) => distance(each, p[0], aspect) > 0.002);
}

/** What is kept of some shapes; nothing of none. */
export const wrap = (shapes, aspect) =>
  shapes.length ? { schema: SCHEMA, aspect: tidy(aspect, [0.2, 5]), shapes } : null;

const pointsOf = (shapes) => shapes.reduce((sum, { p }) => sum + p.length, 0);

/** Which limit one more shape would break: "shapes", "points" or none. */
export function isFull(shapes, more) {
  if (shapes.length + 1 > MOST.shapes) return "shapes";
  return pointsOf([...shapes, more]) > MOST.points ? "points" : "";
}

/** Both hands' shapes, each once, as many as there is room for. */
export function joined(theirs, mine) {
  if (!theirs || !mine) return mine ?? theirs;
  const seen = new Set();
  const shapes = [];
  for (const shape of [...theirs.shapes, ...mine.shapes]) {
    const { k, p, w, s, h, e } = shape;
    const look = JSON.stringify([k, p, w, s, h, e]);
    if (seen.has(look) || isFull(shapes, shape)) continue;
    seen.add(look);
    shapes.push(shape);
  }
  return { ...mine, shapes };
}

// ---- measuring, in pixels: shares of width and height are not alike

const distance = ([ax, ay], [bx, by], aspect) => Math.hypot((ax - bx) * aspect, ay - by);
const legs = ([a, v, b], aspect) => [distance(a, v, aspect), distance(b, v, aspect)];

function fromVertex([[ax, ay], [vx, vy], [bx, by]], aspect) {
  return [(ax - vx) * aspect, ay - vy, (bx - vx) * aspect, by - vy];
}

export function degrees({ p }, aspect) {
  const [ax, ay, bx, by] = fromVertex(p, aspect);
  return turned(Math.abs(Math.atan2(ax * by - ay * bx, ax * bx + ay * by)));
}

/** One standard deviation of the angle, if each point was met to within `e`. */
export function spread({ p, e }, aspect) {
  const [ax, ay, bx, by] = fromVertex(p, aspect);
  const [a, b] = [ax * ax + ay * ay, bx * bx + by * by];
  const turn = Math.sign(ax * by - ay * bx) || 1;
  const [oneX, oneY] = [(turn * ay) / a, (-turn * ax) / a];
  const [twoX, twoY] = [(-turn * by) / b, (turn * bx) / b];
  const moved = [oneX, oneY, twoX, twoY, oneX + twoX, oneY + twoY];
  return turned(e * Math.hypot(...moved));
}

export function figure(shape, aspect) {
  const off = Math.min(180, Math.max(1, Math.ceil(spread(shape, aspect))));
  return `${Math.floor(degrees(shape, aspect) + 0.5)}° ± ${off}°`;
}

// ---- what is painted, in units of which the frame is 1000 high

/** `{lines: [{points, width}], head, casing, letters, scrap, figure}`, as far as there are. */
export function painted(shape, aspect) {
  const points = shape.p.map(([x, y]) => [x * aspect * HIGH, y * HIGH]);
  const width = shape.w * HIGH;
  const casing = width * CASING_SHARE;
  if (shape.k === "text") {
    return { lines: [], letters: { words: shape.s, at: points[0], size: shape.h * HIGH } };
  }
  if (shape.k === "arrow") {
    const [shaft, head] = arrow(points, width);
    return { lines: [{ points: shaft, width }], head, casing };
  }
  if (shape.k === "ellipse") return { lines: [{ points: ring(points), width }], casing };
  if (shape.k === "angle" && points.length === 3) return angle(shape, points, aspect);
  return { lines: [{ points, width }], casing };
}

function arrow([[ax, ay], [bx, by]], width) {
  const long = Math.hypot(bx - ax, by - ay);
  if (long === 0) return [[[ax, ay], [bx, by]], null];
  const [ux, uy] = [(bx - ax) / long, (by - ay) / long];
  const head = Math.min(HEAD * width, HEAD_SHARE * long);
  const [fx, fy] = [bx - ux * head, by - uy * head];
  const half = head / 2;
  const sides = [[fx - uy * half, fy + ux * half], [fx + uy * half, fy - ux * half]];
  const end = [bx - ux * head * SHAFT, by - uy * head * SHAFT];
  return [[[ax, ay], end], [[bx, by], ...sides]];
}

function ring([[ax, ay], [bx, by]]) {
  const [x, y] = [(ax + bx) / 2, (ay + by) / 2];
  const [across, down] = [Math.abs(ax - bx) / 2, Math.abs(ay - by) / 2];
  return Array.from({ length: ROUND + 1 }, (_, step) => {
    const turn = (2 * Math.PI * step) / ROUND;
    return [x + across * Math.cos(turn), y + down * Math.sin(turn)];
  });
}

function angle(shape, points, aspect) {
  const [[ax, ay], [vx, vy], [bx, by]] = points;
  const width = shape.w * HIGH;
  const radius = Math.min(90, 0.45 * HIGH * Math.min(...legs(shape.p, aspect)));
  const start = Math.atan2(ay - vy, ax - vx);
  const round = 2 * Math.PI;
  const open = Math.atan2(by - vy, bx - vx) - start + Math.PI;
  const sweep = open - round * Math.floor(open / round) - Math.PI;
  const steps = Math.max(2, Math.ceil(Math.abs(sweep) / 0.05));
  const arc = Array.from({ length: steps + 1 }, (_, step) => {
    const turn = start + (sweep * step) / steps;
    return [vx + radius * Math.cos(turn), vy + radius * Math.sin(turn)];
  });
  const words = figure(shape, aspect);
  return {
    lines: [{ points, width }, { points: arc, width: width * 0.6 }],
    casing: width * CASING_SHARE,
    ...scrap(words, [vx, vy], start + sweep / 2, radius, aspect),
  };
}

/** Behind the vertex, where no leg runs; if that is off the frame, beyond the arc. */
function scrap(words, [vx, vy], middle, radius, aspect) {
  const widths = [...words].map((letter) => FIGURE_WIDTHS[FIGURE_LETTERS.indexOf(letter)]);
  const long = widths.reduce((sum, width) => sum + width, 0) * FIGURE_SIZE;
  const [across, down] = [long / 2 + PADDING, SCRAP_HIGH / 2];
  const [ux, uy] = [Math.cos(middle), Math.sin(middle)];
  const reach = (across + NOTCH) * Math.abs(ux) + down * Math.abs(uy) + GAP;
  const [right, low] = [aspect * HIGH - across - NOTCH, HIGH - down];
  let [x, y] = [vx - ux * reach, vy - uy * reach];
  if (!(across <= x && x <= right && down <= y && y <= low)) {
    [x, y] = [vx + ux * (radius + reach), vy + uy * (radius + reach)];
  }
  [x, y] = [Math.min(Math.max(x, across), right), Math.min(Math.max(y, down), low)];
  const [left, top, end, bottom] = [x - across, y - down, x + across, y + down];
  return {
    scrap: [[left, top], [end + NOTCH, top], [end, y], [end + NOTCH, bottom], [left, bottom]],
    figure: { words, at: [left + PADDING, y + FIGURE_SIZE * 0.35], size: FIGURE_SIZE },
  };
}

// ---- what a hand does

/** Leave out what lies nearer than `slack` to the line between its neighbours. */
export function simplify(points, aspect, slack = 0.0015) {
  let kept = douglas(points, aspect, slack);
  while (kept.length > MOST.stroke) kept = douglas(kept, aspect, (slack *= 1.5));
  return kept;
}

function douglas(points, aspect, slack) {
  const keep = new Set([0, points.length - 1]);
  const stretches = [[0, points.length - 1]];
  while (stretches.length) {
    const [from, to] = stretches.pop();
    let [far, most] = [0, slack];
    for (let place = from + 1; place < to; place += 1) {
      const off = fromLine(points[place], points[from], points[to], aspect);
      if (off > most) [far, most] = [place, off];
    }
    if (far) {
      keep.add(far);
      stretches.push([from, far], [far, to]);
    }
  }
  return points.filter((_, place) => keep.has(place));
}

/** From a point to the stretch between two others, as a share of the height. */
function fromLine([x, y], [ax, ay], [bx, by], aspect) {
  const [dx, dy] = [(bx - ax) * aspect, by - ay];
  const [px, py] = [(x - ax) * aspect, y - ay];
  const share = (px * dx + py * dy) / (dx * dx + dy * dy || 1);
  const along = Math.min(1, Math.max(0, share));
  return Math.hypot(px - along * dx, py - along * dy);
}

/** How far a shape's ink is from a point, as a share of the height. */
export function fromShape(at, shape, aspect) {
  const { lines, letters, scrap: cloth } = painted(shape, aspect);
  const unit = ([x, y]) => [x / HIGH / aspect, y / HIGH];
  const traces = lines.map(({ points }) => points.map(unit));
  if (cloth) traces.push(boxOf(cloth.map(unit)));
  if (letters) {
    const [x, y] = unit(letters.at);
    const [wide, high] = [letters.words.length * shape.h * 0.55 / aspect, shape.h * 0.7];
    traces.push(boxOf([[x, y - high], [x + wide, y]]));
  }
  return Math.min(...traces.map((trace) => (trace.isBox ? fromBox(at, trace, aspect) : fromTrace(at, trace, aspect))));
}

function fromTrace(at, trace, aspect) {
  const near = trace.slice(1).map((end, place) => fromLine(at, trace[place], end, aspect));
  return Math.min(...near, distance(at, trace[0], aspect));
}

function boxOf(points) {
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return {
    isBox: true, left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), low: Math.max(...ys),
  };
}

function fromBox([x, y], { left, right, top, low }, aspect) {
  const nearest = [Math.min(Math.max(x, left), right), Math.min(Math.max(y, top), low)];
  return distance([x, y], nearest, aspect);
}

/** The place of the shape that is met, the newest first; -1 where there is none. */
export function hit(at, shapes, aspect, reach) {
  const offs = shapes.map((shape) => fromShape(at, shape, aspect));
  const nearest = Math.min(...offs);
  return nearest <= reach ? offs.lastIndexOf(nearest) : -1;
}

/** The place of a shape's own point that is met, or -1. A stroke is moved as a whole. */
export function grip(at, { k, p }, aspect, reach) {
  if (k === "free") return -1;
  const offs = p.map((each) => distance(at, each, aspect));
  const nearest = Math.min(...offs);
  return nearest <= reach ? offs.indexOf(nearest) : -1;
}

/** The shape, or one of its points, moved; it stays on the frame in one piece. */
export function moved(shape, [dx, dy], place = -1) {
  const which = place < 0 ? shape.p : [shape.p[place]];
  const within = (by, axis) => {
    const all = which.map((each) => each[axis]);
    return Math.min(EDGE[1] - Math.max(...all), Math.max(EDGE[0] - Math.min(...all), by));
  };
  const [x, y] = [within(dx, 0), within(dy, 1)];
  const p = shape.p.map((each, own) =>
    place < 0 || own === place ? point([each[0] + x, each[1] + y]) : each,
  );
  return { ...shape, p };
}

/** What stood there before and what was taken back: `past` and `future` are lists of lists. */
export const history = {
  begin: (shapes) => ({ past: [], shapes, future: [] }),
  go: ({ past, shapes }, next) => ({ past: [...past, shapes], shapes: next, future: [] }),
  undo: (was) =>
    was.past.length
      ? { past: was.past.slice(0, -1), shapes: was.past.at(-1), future: [was.shapes, ...was.future] }
      : was,
  redo: (was) =>
    was.future.length
      ? { past: [...was.past, was.shapes], shapes: was.future[0], future: was.future.slice(1) }
      : was,
};
