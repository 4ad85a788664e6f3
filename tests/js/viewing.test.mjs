import assert from "node:assert/strict";
import { test } from "node:test";

import { moved, nearer, settle, transformOf, WHOLE } from "../../static/js/player/viewing.js";

const ROOM = { wide: 1, high: 1 };

/** Where a place of the picture is seen, in shares of the stage from its left or upper end. */
const seen = (view, place) => ({
  x: 0.5 + (place.x - view.x) * view.scale,
  y: 0.5 + (place.y - view.y) * view.scale,
});
const near = (one, other, why) => assert.ok(Math.abs(one - other) < 1e-9, `${why}: ${one}, ${other}`);

test("it works", () => {
  const view = nearer(WHOLE, 2, { x: 0.5, y: 0.5 }, ROOM);
  assert.deepEqual(view, { scale: 2, x: 0.5, y: 0.5 });
  assert.equal(transformOf(view), "translate(0.000%, 0.000%) scale(2.0000)");
  assert.equal(transformOf(WHOLE), "");
  assert.equal(transformOf({ scale: 2, x: 0.25, y: 0.5 }), "translate(50.000%, 0.000%) scale(2.0000)");
});

test("what lies under the finger stays there", () => {
  for (const at of [{ x: 0.3, y: 0.6 }, { x: 0.5, y: 0.5 }, { x: 0.71, y: 0.42 }]) {
    let view = nearer(WHOLE, 3, { x: 0.5, y: 0.5 }, ROOM);
    const before = seen(view, at);
    view = nearer(view, 1.7, at, ROOM);
    near(seen(view, at).x, before.x, "across");
    near(seen(view, at).y, before.y, "down");
  }
});

test("it is never smaller than the stage, nor nearer than eight times", () => {
  assert.deepEqual(nearer(WHOLE, 0.2, { x: 0.1, y: 0.1 }, ROOM), WHOLE);
  assert.equal(nearer(WHOLE, 100, { x: 0.1, y: 0.1 }, ROOM).scale, 8);
});

test("the picture's edge is never drawn into the stage", () => {
  let state = 7;
  const chance = () => (state = (state * 48271) % 2147483647) / 2147483647;
  for (let round = 0; round < 500; round += 1) {
    const room = { wide: 1 + chance(), high: 1 };
    let view = WHOLE;
    for (let step = 0; step < 8; step += 1) {
      view =
        chance() < 0.5
          ? nearer(view, 0.4 + chance() * 2, { x: chance(), y: chance() }, room)
          : moved(view, { right: chance() * 2 - 1, down: chance() * 2 - 1 }, room);
      for (const [place, share] of [[view.x, room.wide], [view.y, room.high]]) {
        const half = share / view.scale / 2;
        if (half >= 0.5) assert.equal(place, 0.5);
        else assert.ok(place >= half - 1e-9 && place <= 1 - half + 1e-9, JSON.stringify(view));
      }
    }
  }
});

test("a move goes by what is seen and comes back", () => {
  const view = settle({ scale: 4, x: 0.5, y: 0.5 }, ROOM);
  const there = moved(view, { right: 0.25, down: -0.25 }, ROOM);
  assert.deepEqual(there, { scale: 4, x: 0.5625, y: 0.4375 });
  assert.deepEqual(moved(there, { right: -0.25, down: 0.25 }, ROOM), view);
});
