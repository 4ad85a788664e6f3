import assert from "node:assert/strict";
import { test } from "node:test";

import { makeClock } from "../../static/js/player/clock.js";
import { around, from, until } from "../../static/js/player/looping.js";
import { tileOf } from "../../static/js/player/strip.js";
import { correction } from "../../static/js/player/together.js";

const clock = makeClock({ timescale: 30, first_frame: 0, start: 0, steps: [[1, 299]] });
const CLIP = { first: 20, last: 200, clock };

test("it works", () => {
  assert.deepEqual(from(null, 60, CLIP), { first: 60, last: 200 });
  assert.deepEqual(until({ first: 60, last: 200 }, 90, CLIP), { first: 60, last: 90 });
  assert.deepEqual(around(null, 100, CLIP), { first: 85, last: 115 });
});

test("an end before its beginning begins with the clip, and a beginning after its end ends with it", () => {
  assert.deepEqual(until({ first: 60, last: 90 }, 50, CLIP), { first: 20, last: 50 });
  assert.deepEqual(from({ first: 60, last: 90 }, 95, CLIP), { first: 95, last: 200 });
  assert.deepEqual(from(null, 200, CLIP), { first: 199, last: 200 });
  assert.deepEqual(until(null, 20, CLIP), { first: 20, last: 21 });
});

test("a loop that was there before comes back where it was, and only there", () => {
  const kept = { first: 60, last: 90 };
  assert.equal(around(kept, 75, CLIP), kept);
  assert.deepEqual(around(kept, 20, CLIP), { first: 20, last: 35 });
});

test("the picture of a frame is the nearest, and the last one at the end", () => {
  const strip = { every: 12, columns: 10, count: 20, wide: 160, high: 90 };
  assert.deepEqual(tileOf(0, strip), { x: 0, y: 0 });
  assert.deepEqual(tileOf(125, strip), { x: 0, y: 90 });
  assert.deepEqual(tileOf(113, strip), { x: 1440, y: 0 });
  assert.deepEqual(tileOf(10_000, strip), { x: 1440, y: 90 });
});

test("who is ahead is slowed and who is behind hurries, and never by much", () => {
  const how = { rate: 1, close: 0.004 };
  assert.equal(correction(0.003, how), 1);
  assert.ok(Math.abs(correction(0.04, how) - 0.9) < 1e-9);
  assert.ok(Math.abs(correction(-0.04, how) - 1.1) < 1e-9);
  assert.equal(correction(5, how), 0.7);
  assert.equal(correction(-5, how), 1.3);
  assert.ok(correction(0.01, { rate: 0.25, close: 0.004 }) < correction(0.01, how));
});
