import assert from "node:assert/strict";
import { test } from "node:test";

import { makeClock, moment, wholeMoment } from "../../static/js/player/clock.js";

/** Random numbers that come out the same in every run. */
function dice(seed) {
  let state = seed;
  return () => {
    state = (state * 1664525 + 1013904223) % 4294967296;
    return state / 4294967296;
  };
}

function jittered(frames, { seed = 7, timescale = 90_000, firstFrame = 0, start = 0 } = {}) {
  const roll = dice(seed);
  const steps = Array.from({ length: frames - 1 }, () => [720 + Math.floor(roll() * 5220), 1]);
  return makeClock({ timescale, first_frame: firstFrame, start, steps });
}

test("it works", () => {
  const clock = makeClock({ timescale: 30_000, first_frame: 0, start: 0, steps: [[1001, 299]] });
  assert.equal(clock.frameCount, 300);
  assert.equal(clock.lastFrame, 299);
  assert.equal(clock.timeOf(30), 1.001);
  assert.equal(clock.aim(30), (30 * 1001 + 500.5) / 30_000);
  assert.equal(clock.frameAt(1.001), 30);
  assert.equal(clock.label(30), "0:01.00");
});

test("frames carry the recording's numbers", () => {
  const clock = makeClock({ timescale: 60, first_frame: 480, start: 0, steps: [[1, 119]] });
  assert.equal(clock.firstFrame, 480);
  assert.equal(clock.lastFrame, 599);
  assert.equal(clock.timeOf(480), 0);
  assert.equal(clock.timeOf(540), 1);
  assert.equal(clock.frameAt(1), 540);
  assert.equal(clock.clamp(0), 480);
  assert.equal(clock.clamp(10_000), 599);
  assert.equal(clock.clamp(500.4), 500);
  assert.equal(clock.label(540), "0:01.00");
  assert.equal(clock.label(540, 510), "0:00.50");
  assert.equal(clock.between(510, 540), 0.5);
});

test("a copy that does not begin at nought", () => {
  const clock = makeClock({ timescale: 1000, first_frame: 0, start: 1000, steps: [[40, 24]] });
  assert.equal(clock.timeOf(0), 1);
  assert.equal(clock.frameAt(0), 0);
  assert.equal(clock.frameAt(99), 24);
  assert.equal(clock.label(24), "0:00.96");
});

test("a copy of one frame", () => {
  const clock = makeClock({ timescale: 30, first_frame: 7, start: 0, steps: [] });
  assert.equal(clock.frameCount, 1);
  assert.equal(clock.aim(7), 0);
  assert.equal(clock.frameAt(5), 7);
});

test("times that do not rise are refused", () => {
  const falling = { timescale: 30, first_frame: 0, start: 0, steps: [[1, 4], [0, 1]] };
  assert.throws(() => makeClock(falling), /must rise, but a gap is 0/);
});

test("every frame of a film without steady rate is named by its time, cut or early", () => {
  for (let seed = 1; seed <= 20; seed += 1) {
    const clock = jittered(500, { seed, firstFrame: seed * 100, start: seed });
    for (let frame = clock.firstFrame; frame <= clock.lastFrame; frame += 1) {
      const cut = Math.floor(clock.timeOf(frame) * 1e6) / 1e6;
      assert.equal(clock.frameAt(cut), frame);
      assert.equal(clock.frameDuring(clock.aim(frame)), frame);
      assert.equal(clock.frameDuring(clock.aim(frame, 0.25)), frame);
    }
  }
});

test("the nearest frame is the one a slow search finds", () => {
  const clock = jittered(200);
  const roll = dice(11);
  const end = clock.timeOf(199) + 1;
  for (let i = 0; i < 2000; i += 1) {
    const seconds = roll() * end - 0.5;
    const distance = (frame) => Math.abs(clock.timeOf(frame) - seconds);
    let nearest = 0;
    for (let frame = 1; frame < 200; frame += 1) {
      if (distance(frame) < distance(nearest)) nearest = frame;
    }
    assert.equal(distance(clock.frameAt(seconds)), distance(nearest));
  }
});

test("the longest recording: 200 000 frames", () => {
  const steps = Array.from({ length: 199_999 }, (_, i) => [i % 3 ? 375 : 376, 1]);
  const clock = makeClock({ timescale: 90_000, first_frame: 0, start: 0, steps });
  assert.equal(clock.frameCount, 200_000);
  const roll = dice(3);
  for (let i = 0; i < 20_000; i += 1) {
    const frame = Math.floor(roll() * 200_000);
    assert.equal(clock.frameAt(clock.timeOf(frame) - 0.45e-6), frame);
  }
  assert.equal(clock.label(199_999), "13:54.07");
});

test("moments are written as the server writes them", () => {
  assert.equal(moment(0), "0:00.00");
  assert.equal(moment(7.4166667), "0:07.42");
  assert.equal(moment(59.999), "1:00.00");
  assert.equal(moment(3 / 120), "0:00.02");
  assert.equal(moment(9 / 120), "0:00.08");
  assert.equal(moment(2700), "45:00.00");
  assert.equal(wholeMoment(65), "1:05");
});
