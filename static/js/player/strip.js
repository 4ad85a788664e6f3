// Small pictures of the film along its time, cut out of the one picture that holds them all.

import { draw } from "./drawing.js";

// `strip` is {address, every, columns, count, wide, high}: a picture each `every` frames of the
// recording, so many in a row and in all, and how large one is.

/** Where in the whole picture the one nearest to `frame` lies. */
export function tileOf(frame, { every, columns, count, wide, high }) {
  const number = Math.min(count - 1, Math.max(0, Math.round(frame / every)));
  return { x: (number % columns) * wide, y: Math.floor(number / columns) * high };
}

/** As many as there is room for, each the one nearest to its middle. */
export function drawStrip(parent, strip, { width, height, top, frameUnder }) {
  const { wide, high, columns, count, address } = strip;
  const places = Math.max(1, Math.round(width / ((height * wide) / high)));
  const step = width / places;
  const sheet = { width: columns * wide, height: Math.ceil(count / columns) * high };
  for (let place = 0; place < places; place += 1) {
    const { x, y } = tileOf(frameUnder((place + 0.5) * step), strip);
    const window = { x: place * step, y: top, width: Math.max(1, step - 1.5), height };
    const viewBox = `${x} ${y} ${wide} ${high}`;
    const part = draw(parent, "svg", { ...window, viewBox, preserveAspectRatio: "xMidYMid slice" });
    draw(part, "image", { href: address, ...sheet });
  }
}
