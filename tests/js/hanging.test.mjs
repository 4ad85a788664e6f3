import assert from "node:assert/strict";
import { test } from "node:test";

import { floatsOf, hang, scaleFor } from "../../static/js/player/hanging.js";

const NONE_OVERLAP = 34;

test("it works", () => {
  const [one, other] = hang([{ x: 100, words: 80 }, { x: 500, words: 80 }], 1000);
  assert.deepEqual(one, { x: 100, y: 56, side: "right" });
  assert.deepEqual(other, { x: 500, y: 56, side: "right" });
});

test("words that would meet hang on the longer string", () => {
  const [one, other] = hang([{ x: 100, words: 120 }, { x: 180, words: 120 }], 1000);
  assert.deepEqual(one, { x: 100, y: 110, side: "right" });
  assert.deepEqual(other, { x: 180, y: 56, side: "right" });
});

test("of those that collide at both lengths the older keep their words", () => {
  const words = 300;
  for (const xs of [[500, 540, 580, 460], [460, 540, 580, 500]]) {
    const places = hang(xs.map((x) => ({ x, words })), 1000);
    const sides = places.map(({ side }) => side);
    assert.ok(!sides.slice(0, 3).includes("none"), `${xs}: ${sides}`);
    assert.equal(sides[3], "none");
  }
});

test("at the ends of the rope the words stay on it", () => {
  const [left, right] = hang([{ x: 0, words: 150 }, { x: 1000, words: 150 }], 1000);
  assert.equal(left.side, "right");
  assert.equal(right.side, "left");
});

test("no two of many pennants lie on each other", () => {
  for (let seed = 1; seed <= 200; seed += 1) {
    const crowd = Array.from({ length: 8 }, (_, i) => ({
      x: (seed * 7919 * (i + 1)) % 320,
      words: 60 + ((seed * 31 * (i + 3)) % 110),
    }));
    const places = hang(crowd, 320);
    for (const [i, one] of places.entries()) {
      for (const other of places.slice(i + 1)) {
        const isApart = Math.abs(one.x - other.x) >= NONE_OVERLAP || one.y !== other.y;
        assert.ok(isApart, `seed ${seed}: ${JSON.stringify([one, other])}`);
      }
    }
  }
});

test("a float stands for 0.2 s, 1 s or 10 s by the length of the film", () => {
  assert.equal(scaleFor(18.4, 1012).float, 0.2);
  assert.equal(scaleFor(40, 1012).float, 0.2);
  assert.equal(scaleFor(41, 1012).float, 1);
  assert.equal(scaleFor(240, 1012).float, 1);
  assert.equal(scaleFor(241, 1012).float, 10);
  assert.equal(scaleFor(2700, 1012).float, 60);
  assert.equal(scaleFor(18.4, 320).float, 1);
});

test("floats cover the film, the strong ones every five seconds", () => {
  const floats = floatsOf(18.4, scaleFor(18.4, 1012));
  assert.equal(floats.length, 92);
  assert.equal(floats[0].from, 0);
  assert.ok(Math.abs(floats.at(-1).to - 18.4) < 1e-9);
  assert.deepEqual(
    floats.filter(({ isStrong }) => isStrong).map(({ from }) => Math.round(from * 10) / 10),
    [5, 10, 15],
  );
  assert.equal(floatsOf(0, scaleFor(0, 1012)).length, 1);
});
