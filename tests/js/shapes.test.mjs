import assert from "node:assert/strict";
import { test } from "node:test";

import { createPencil } from "../../static/js/drawing/pencil.js";
import {
  degrees, figure, fromShape, hit, isShape, joined, makeShape, MOST, moved, painted, simplify,
  spread, wrap, writable,
} from "../../static/js/drawing/shapes.js";

const WIDE = 16 / 9;
const near = (one, other, within = 1e-9) => assert.ok(Math.abs(one - other) <= within, `${one} is not ${other}`);

// ---- shapes

test("what is made is of the format, tidy and on the frame", () => {
  const line = makeShape("line", [[0.123456789, -3], [2, 0.5]]);
  assert.deepEqual(line, { k: "line", p: [[0.12346, -0.05], [1.05, 0.5]], w: 0.008 });
  assert.deepEqual(Object.keys(makeShape("angle", [[0, 0], [0, 1], [1, 1]], { error: 9 })), ["k", "p", "w", "e"]);
  assert.equal(makeShape("angle", [[0, 0], [0, 1], [1, 1]], { error: 9 }).e, 0.1);
  assert.equal(makeShape("text", [[0, 0]], { words: "Heels ☃ first" }).s, "Heels  first");
  assert.deepEqual(wrap([line], WIDE), { schema: "drawing/1", aspect: 1.77778, shapes: [line] });
  assert.equal(wrap([], WIDE), null);
});

test("letters of two parts become one, and more than there is room for are left out", () => {
  assert.equal(writable("Fu\u0308ße"), "Füße");
  assert.equal(writable("a".repeat(99)).length, MOST.letters);
});

test("angles are taken in pixels, not in shares", () => {
  const square = { k: "angle", p: [[0.5, 0.1], [0.5, 0.5], [0.5 + 0.4 / WIDE, 0.5]], w: 0.008, e: 0.003 };
  near(degrees(square, WIDE), 90);
  assert.ok(Math.abs(degrees({ ...square, p: [[0.2, 0.2], [0.5, 0.5], [0.9, 0.5]] }, WIDE)
    - degrees({ ...square, p: [[0.2, 0.2], [0.5, 0.5], [0.9, 0.5]] }, 1)) > 5);
});

// Three pixels off on legs of these lengths: the standard deviations that many hands gave.
for (const [one, other, between, off] of [[150, 150, 120, 2.562], [60, 60, 90, 5.73], [300, 80, 160, 3.493]]) {
  test(`three points of an angle of ${between} degrees leave ${off} open`, () => {
    const turn = (between * Math.PI) / 180;
    const p = [[0.5 + one / 1000, 0.5], [0.5, 0.5], [0.5 + (other / 1000) * Math.cos(turn), 0.5 + (other / 1000) * Math.sin(turn)]];
    near(spread({ p, e: 0.003 }, 1), off, 0.002);
    near(degrees({ p }, 1), between, 1e-6);
    assert.equal(figure({ p, e: 0.003 }, 1), `${between}° ± ${Math.ceil(off)}°`);
  });
}

test("an arrow's head points where it was drawn to, and its shaft ends in it", () => {
  const { lines, head, casing } = painted({ k: "arrow", p: [[0, 0.5], [0.5, 0.5]], w: 0.01 }, 2);
  assert.deepEqual(head[0], [1000, 500]);
  assert.deepEqual(lines[0].points, [[0, 500], [955, 500]]);
  assert.equal(head[1][0], 950);
  near(casing, 4.2);
});

test("a stroke keeps its bends and loses what lies between", () => {
  const straight = Array.from({ length: 200 }, (_, place) => [place / 400, 0.2]);
  const bent = [...straight, ...straight.map(([x]) => [0.5, 0.2 + x])];
  assert.deepEqual(simplify(straight, WIDE), [straight[0], straight.at(-1)]);
  const kept = simplify(bent, WIDE);
  assert.ok(kept.length >= 3 && kept.length <= 5, `${kept.length} points`);
  const wild = Array.from({ length: 4000 }, (_, place) => [place / 4000, (place * 0.618) % 1]);
  assert.ok(simplify(wild, WIDE).length <= MOST.stroke);
});

test("ink is met where it is, letters and the scrap of cloth as boxes", () => {
  const line = makeShape("line", [[0.1, 0.5], [0.9, 0.5]]);
  near(fromShape([0.5, 0.52], line, WIDE), 0.02);
  near(fromShape([0.9 + 0.03 / WIDE, 0.5], line, WIDE), 0.03);
  const ring = makeShape("ellipse", [[0.2, 0.2], [0.6, 0.8]]);
  assert.ok(fromShape([0.4, 0.5], ring, WIDE) > 0.2, "its middle is empty");
  const words = makeShape("text", [[0.1, 0.2]], { words: "Heels" });
  assert.equal(fromShape([0.12, 0.19], words, WIDE), 0);
  assert.equal(hit([0.5, 0.5], [line, ring, line], WIDE, 0.02), 2, "the newest lies on top");
  assert.equal(hit([0.5, 0.9], [line], WIDE, 0.02), -1);
});

test("what is moved stays on the frame in one piece", () => {
  const line = makeShape("line", [[0.1, 0.5], [0.9, 0.6]]);
  assert.deepEqual(moved(line, [0.5, 0]).p, [[0.25, 0.5], [1.05, 0.6]]);
  assert.deepEqual(moved(line, [0, -0.2], 1).p, [[0.1, 0.5], [0.9, 0.4]]);
});

test("a shape without any size is none", () => {
  assert.equal(isShape(makeShape("line", [[0.5, 0.5], [0.5, 0.5]]), WIDE), false);
  assert.equal(isShape(makeShape("angle", [[0.5, 0.5], [0.5, 0.5], [0.9, 0.5]], { error: 0.003 }), WIDE), false);
  assert.equal(isShape(makeShape("text", [[0.5, 0.5]], { words: "  " }), WIDE), false);
});

test("both hands' shapes stand together, each once, in whatever order their parts were kept", () => {
  const [one, two] = [makeShape("line", [[0, 0], [1, 1]]), makeShape("arrow", [[0, 1], [1, 0]])];
  const turned = { w: one.w, p: one.p, k: one.k };
  assert.deepEqual(joined(wrap([one], WIDE), wrap([turned, two], WIDE)).shapes, [one, two]);
  assert.deepEqual(joined(null, wrap([two], WIDE)).shapes, [two]);
  assert.deepEqual(joined(wrap([one], WIDE), null).shapes, [one]);
  assert.equal(joined(null, null), null);
});

// ---- the pencil

const HAND = { error: 0.006, reach: 0.02 };

function take(tool, shapes = []) {
  const told = [];
  const pencil = createPencil({ aspect: WIDE, tell: (name, detail) => name !== "shown" && told.push([name, detail]) });
  pencil.begin(shapes);
  pencil.choose(tool);
  const tap = (at) => {
    pencil.press(at, HAND);
    pencil.lift(at);
  };
  const drag = (...places) => {
    pencil.press(places[0], HAND);
    for (const at of places) pencil.go(at, { isDown: true });
    pencil.lift(places.at(-1));
  };
  return { pencil, told, tap, drag, kinds: () => pencil.shapes.map(({ k }) => k) };
}

for (const tool of ["line", "arrow", "ellipse"]) {
  test(`a ${tool} is dragged, or tapped twice`, () => {
    const { pencil, tap, drag } = take(tool);
    drag([0.1, 0.1], [0.3, 0.3], [0.5, 0.5]);
    tap([0.1, 0.1]);
    pencil.go([0.4, 0.4], { isDown: false });
    assert.equal(pencil.seen.length, 2, "it is seen before it is set");
    tap([0.5, 0.5]);
    assert.deepEqual(pencil.shapes[0], pencil.shapes[1]);
    assert.deepEqual(pencil.shapes[0].p, [[0.1, 0.1], [0.5, 0.5]]);
  });
}

test("an angle is tapped in three places, or its first leg is dragged", () => {
  const { pencil, tap, drag } = take("angle");
  for (const at of [[0.2, 0.2], [0.5, 0.5], [0.8, 0.2]]) tap(at);
  drag([0.2, 0.2], [0.5, 0.5]);
  tap([0.8, 0.2]);
  assert.deepEqual(pencil.shapes[0], pencil.shapes[1]);
  assert.equal(pencil.shapes[0].e, HAND.error);
});

test("an angle with short legs is drawn, and said to be unsure", () => {
  const { told, tap } = take("angle");
  for (const at of [[0.48, 0.5], [0.5, 0.5], [0.5, 0.46]]) tap(at);
  assert.deepEqual(told.map(([name]) => name), ["changed", "unsure"]);
  assert.ok(told[1][1].spread > 5);
});

test("a stroke is drawn at once, or tapped from bend to bend and ended by a second tap", () => {
  const { pencil, tap, drag, kinds } = take("free");
  drag([0.1, 0.1], [0.2, 0.3], [0.4, 0.1]);
  for (const at of [[0.1, 0.5], [0.3, 0.7], [0.6, 0.5], [0.6, 0.5]]) tap(at);
  assert.deepEqual(kinds(), ["free", "free"]);
  assert.deepEqual(pencil.shapes[1].p, [[0.1, 0.5], [0.3, 0.7], [0.6, 0.5]]);
});

test("words are asked for where they are to stand, and none are no shape", () => {
  const { pencil, told, tap } = take("text");
  tap([0.2, 0.2]);
  assert.equal(told.at(-1)[0], "words");
  pencil.finish({ words: "Late" });
  assert.equal(pencil.shapes[0].s, "Late");
  tap([0.4, 0.4]);
  pencil.cancel();
  assert.equal(pencil.shapes.length, 1);
});

test("a shape is dragged, one of its points too, and both can be tapped instead", () => {
  const line = makeShape("line", [[0.2, 0.5], [0.6, 0.5]]);
  const { pencil, tap, drag } = take("move", [line]);
  drag([0.4, 0.5], [0.4, 0.7]);
  assert.deepEqual(pencil.shapes[0].p, [[0.2, 0.7], [0.6, 0.7]]);
  drag([0.6, 0.7], [0.8, 0.3]);
  assert.deepEqual(pencil.shapes[0].p, [[0.2, 0.7], [0.8, 0.3]]);
  tap([0.8, 0.3]);
  tap([0.7, 0.1]);
  assert.deepEqual(pencil.shapes[0].p, [[0.2, 0.7], [0.7, 0.1]]);
  pencil.choose("move");
  tap([0.45, 0.4]);
  tap([0.45, 0.6]);
  assert.deepEqual(pencil.shapes[0].p, [[0.2, 0.9], [0.7, 0.3]]);
});

test("keys walk over shapes and their points, and move what is picked", () => {
  const { pencil } = take("move", [makeShape("line", [[0.2, 0.5], [0.6, 0.5]])]);
  assert.equal(pencil.nudge([0.1, 0]), false);
  pencil.walk(1);
  pencil.nudge([0.1, 0]);
  pencil.walk(1);
  pencil.nudge([0, 0.1]);
  assert.deepEqual(pencil.shapes[0].p, [[0.3, 0.6], [0.7, 0.5]]);
  pencil.walk(-1);
  assert.equal(pencil.picked.place, -1);
  pencil.remove();
  assert.deepEqual(pencil.shapes, []);
});

test("everything can be undone and done again, a point that was set first", () => {
  const { pencil, tap, drag, kinds } = take("line");
  drag([0.1, 0.1], [0.5, 0.5]);
  pencil.choose("arrow");
  drag([0.1, 0.5], [0.5, 0.1]);
  pencil.remove();
  tap([0.2, 0.2]);
  assert.equal(pencil.undo(), true);
  assert.deepEqual(pencil.set, []);
  pencil.undo();
  assert.deepEqual(kinds(), ["line", "arrow"]);
  pencil.undo();
  pencil.undo();
  assert.equal(pencil.undo(), false);
  assert.deepEqual(kinds(), []);
  pencil.redo();
  pencil.redo();
  assert.deepEqual(kinds(), ["line", "arrow"]);
  pencil.redo();
  assert.equal(pencil.redo(), false);
  assert.equal(pencil.canUndo, true);
});

test("a pointer that is taken away leaves nothing, and a full frame takes no more", () => {
  const many = Array.from({ length: MOST.shapes }, () => makeShape("line", [[0, 0], [1, 1]]));
  const { pencil, told, drag } = take("line", many);
  drag([0.1, 0.1], [0.5, 0.5]);
  assert.deepEqual(told, [["full", { limit: "shapes" }]]);
  pencil.press([0.2, 0.2], HAND);
  pencil.cancel();
  assert.deepEqual([pencil.set, pencil.shapes.length], [[], MOST.shapes]);
});
