// Sums of the lane rope: what a float stands for, where pennants hang, whose words have room.
// Pixels from the rope's left end and from the top of its drawing.

export const MARGIN = 14;
export const STRINGS_TOP = 38;
export const CLOTH = { width: 34, height: 40 };
// Two string lengths; without words a pennant may hang to the side, so that none is covered.
const LEVELS = [56, 110];
const ASIDE = [0, ...[1, 2, 3, 4, 5, 6, 7, 8].flatMap((step) => [step * 20, step * -20])];
const WORDS_HEIGHT = 48;
const GAP_OF_WORDS = 4;
// Seconds a float, seconds between the strong ones, and up to which length of film.
const SCALES = [
  { float: 0.2, hair: 1, strong: 5, upTo: 40 },
  { float: 1, hair: 10, strong: 10, upTo: 240 },
  { float: 10, hair: 60, strong: 60, upTo: Infinity },
  { float: 60, hair: 600, strong: 600, upTo: Infinity },
];
const NARROWEST_FLOAT = 4;

/** How much time a float stands for on a rope of `width` pixels. */
export function scaleFor(seconds, width) {
  const fits = ({ float, upTo }) => seconds <= upTo && (float / seconds) * width >= NARROWEST_FLOAT;
  return SCALES.find(fits) ?? SCALES.at(-1);
}

/** Floats of equal time from 0 to `seconds`; the one that ends a strong interval is strong. */
export function floatsOf(seconds, { float, hair, strong }) {
  const every = (interval) => Math.round(interval / float);
  const count = Math.max(1, Math.ceil(seconds / float - 1e-6));
  return Array.from({ length: count }, (_, place) => ({
    from: place * float,
    to: Math.min(seconds, (place + 1) * float),
    isStrong: place > 0 && place % every(strong) === 0,
    endsHair: (place + 1) % every(hair) === 0,
  }));
}

/**
 * Where pennants hang, and which tell their words. `pennants` come oldest first, with `x` and
 * the `words` width in pixels. Of those that collide at both string lengths the older keeps its
 * words and the youngest shows only its cloth.
 * @returns {{x: number, y: number, side: "right" | "left" | "none"}[]} in the same order
 */
export function hang(pennants, width) {
  const told = new Set(pennants.keys());
  for (;;) {
    const { places, silenced } = sweep(pennants, told, width);
    if (silenced === null) return places;
    told.delete(silenced);
  }
}

/** From right to left: so a longer string passes no words, which begin right of their cloth. */
function sweep(pennants, told, width) {
  const order = [...pennants.keys()].sort((one, other) => pennants[other].x - pennants[one].x);
  const places = [];
  const taken = [];
  for (const at of order) {
    const options = told.has(at) ? toldSpots(pennants[at], width) : quietSpots(pennants[at], width);
    const free = options.find(({ boxes }) => !boxes.some((box) => hits(box, taken).length));
    const blockers = options.flatMap(({ boxes }) => boxes.flatMap((box) => hits(box, taken)));
    if (!free) {
      const rivals = blockers.filter(({ isWords }) => isWords).map((box) => box.at);
      if (told.has(at)) rivals.push(at);
      if (rivals.length) return { silenced: Math.max(...rivals) };
    }
    const spot = free ?? options[0];
    places[at] = { x: spot.x, y: spot.y, side: spot.side };
    taken.push(...spot.boxes.map((box) => ({ ...box, at })));
  }
  return { places, silenced: null };
}

function toldSpots({ x, words }, width) {
  const spots = [1, -1].flatMap((direction) => LEVELS.map((y) => ({ x, y, direction })));
  return spots
    .map(({ y, direction }) => ({
      x,
      y,
      side: direction > 0 ? "right" : "left",
      boxes: [...clothBoxes(x, y), wordsBox(x, y, words * direction)],
    }))
    .filter(({ boxes: [, , box] }) => box.left >= -MARGIN && box.right <= width + MARGIN);
}

function quietSpots({ x }, width) {
  return ASIDE.flatMap((aside) => LEVELS.map((y) => ({ x: x + aside, y })))
    .filter((spot) => spot.x >= 0 && spot.x <= width)
    .map((spot) => ({ ...spot, side: "none", boxes: clothBoxes(spot.x, spot.y).slice(0, 1) }));
}

const hits = (box, taken) =>
  taken.filter(
    (other) =>
      box.left < other.right &&
      other.left < box.right &&
      box.top < other.bottom &&
      other.top < box.bottom,
  );

function clothBoxes(x, y) {
  const half = CLOTH.width / 2;
  const cloth = { left: x - half, right: x + half, top: y, bottom: y + CLOTH.height };
  const string = { left: x - 1, right: x + 1, top: STRINGS_TOP, bottom: y };
  return [cloth, string];
}

/** `reach` is the width of the words; below nought they stand on the left. */
function wordsBox(x, y, reach) {
  const near = x + Math.sign(reach) * (CLOTH.width / 2 + GAP_OF_WORDS);
  const [left, right] = [near, near + reach].sort((one, other) => one - other);
  return { left, right, top: y, bottom: y + WORDS_HEIGHT, isWords: true };
}
