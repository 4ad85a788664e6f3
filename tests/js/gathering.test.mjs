import assert from "node:assert/strict";
import { test } from "node:test";

import { gather } from "../../static/js/player/gathering.js";

const pennant = (frame, changed = {}) => ({
  code: `c${frame}`, frame, last_frame: null, sign: "good", said: "good", words: "Close",
  note: "", focus: false, draft: false, ...changed,
});
const gathered = (pennants, { now = null, pixels = 1 } = {}) =>
  gather(pennants, { x: (frame) => frame * pixels, now, tell: (count) => `${count} comments` });

test("two that hang close stay two, on strings of two lengths", () => {
  const two = [pennant(10), pennant(12)];
  assert.deepEqual(gathered(two), two);
});

test("three below one cloth become one that tells how many and what", () => {
  const [one, ...rest] = gathered([
    pennant(10), pennant(14, { sign: "work on", said: "work on" }), pennant(12),
  ]);
  assert.equal(rest.length, 0);
  assert.equal(one.count, 3);
  assert.equal(one.words, "3 comments");
  assert.equal(one.said, "1 work on, 2 good");
  assert.equal(one.sign, "work on");
  assert.equal(one.code, "c10");
});

test("the one that lies open is what its pennant opens", () => {
  const [one] = gathered([pennant(10), pennant(12), pennant(14)], { now: "c12" });
  assert.equal(one.code, "c12");
  assert.equal(one.frame, 12);
});

test("on a wider rope they part", () => {
  const three = [pennant(10), pennant(12), pennant(14)];
  assert.equal(gathered(three, { pixels: 40 }).length, 3);
});

test("of two hundred all are told of, and never three below one cloth", () => {
  const many = Array.from({ length: 200 }, (_, place) => pennant(place * 3));
  const found = gathered(many, { pixels: 1.5 });
  const counted = found.reduce((sum, { count = 1 }) => sum + count, 0);
  assert.equal(counted, 200);
  assert.ok(found.length < 60);
});
