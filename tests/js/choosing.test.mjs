import assert from "node:assert/strict";
import { test } from "node:test";

import { gaps, grabbed, nextGuess, nextPlace, placeOfName, ruler, stretchAt } from "../../static/js/sorting/choosing.js";

const NAMES = ["Ines Falk", "Noor Haan", "Mirela Dunăreanu-Whitcombe", "Noah Falk"];

test("it works", () => {
  assert.equal(placeOfName(NAMES, "Noor Haan"), 1);
  assert.equal(nextPlace(0, 4), 1);
  assert.deepEqual(ruler(402), { every: 10, strong: 60 });
  assert.deepEqual(gaps([[10, 20]], 30), [[0, 10], [20, 30]]);
});

test("a beginning names somebody when nobody else begins so", () => {
  assert.equal(placeOfName(NAMES, "noo"), 1);
  assert.equal(placeOfName(NAMES, "no"), -1);
  assert.equal(placeOfName(NAMES, "haa"), 1);
  assert.equal(placeOfName(NAMES, "falk"), -1);
  assert.equal(placeOfName(NAMES, "dunar"), 2);
});

test("a whole name wins over another that only begins with it", () => {
  assert.equal(placeOfName(["Ann Lee", "Ann Leeming"], "ann lee"), 0);
});

test("nothing and nobody name nobody", () => {
  assert.equal(placeOfName(NAMES, "  "), -1);
  assert.equal(placeOfName(NAMES, "Zoe"), -1);
  assert.equal(placeOfName([], "Ines"), -1);
});

test("choices go round, from none to the first", () => {
  assert.equal(nextPlace(3, 4), 0);
  assert.equal(nextPlace(-1, 4), 0);
});

test("stretches that touch or overlap leave no gap between them", () => {
  assert.deepEqual(gaps([[20, 30], [10, 25]], 30), [[0, 10]]);
  assert.deepEqual(gaps([[0, 10], [10, 30]], 30), []);
  assert.deepEqual(gaps([], 30), [[0, 30]]);
});

test("short films have fine floats", () => {
  assert.equal(ruler(8).every, 0.2);
  assert.equal(ruler(60).every, 1);
});

test("a number means a place in the list", () => {
  assert.equal(placeOfName(NAMES, "4"), 3);
  assert.equal(placeOfName(NAMES, "5"), -1);
  assert.equal(placeOfName(NAMES, "0"), -1);
});

test("the stretch here, or the next, or the one before", () => {
  const [one, two] = [{ first: 10, last: 20 }, { first: 40, last: 50 }];
  assert.equal(stretchAt([one, two], 20, { after: true }), one);
  assert.equal(stretchAt([one, two], 30, { after: true }), two);
  assert.equal(stretchAt([one, two], 30, { after: false }), one);
  assert.equal(stretchAt([one, two], 60, { after: true }), undefined);
  assert.equal(stretchAt([one, two], 5, { after: false }), undefined);
});

test("guesses follow each other round and round", () => {
  const guesses = [{ first: 10 }, { first: 40 }];
  assert.equal(nextGuess(guesses, 10), 1);
  assert.equal(nextGuess(guesses, 40), 0);
  assert.equal(nextGuess([], 10), -1);
});

test("the nearer end within reach is taken hold of", () => {
  assert.equal(grabbed({ first: 100, last: 112 }, 105, 10), "first");
  assert.equal(grabbed({ first: 100, last: 112 }, 107, 10), "last");
  assert.equal(grabbed({ first: 100, last: 300 }, 111, 10), null);
  assert.equal(grabbed({}, 100, 10), null);
});
