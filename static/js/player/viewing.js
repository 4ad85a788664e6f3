// How near the picture is and which place of it stands in the middle of the stage; pure sums.
// Places are shares of the picture's width and height, so that they hold in a stage of any size.

export const WHOLE = { scale: 1, x: 0.5, y: 0.5 };
const NEAREST = 8;

/** `room`: the stage's width and height as shares of the whole picture's, 1 or more. */
export function settle({ scale, x, y }, room) {
  const near = Math.min(NEAREST, Math.max(1, scale));
  const within = (place, share) => {
    const seen = share / near / 2;
    return seen >= 0.5 ? 0.5 : Math.min(1 - seen, Math.max(seen, place));
  };
  return { scale: near, x: within(x, room.wide), y: within(y, room.high) };
}

/** Nearer by `factor`; what lies at `at`, a share of the picture, stays where it is seen. */
export function nearer(view, factor, at, room) {
  const scale = Math.min(NEAREST, Math.max(1, view.scale * factor));
  const kept = view.scale / scale;
  const around = (middle, place) => place + (middle - place) * kept;
  return settle({ scale, x: around(view.x, at.x), y: around(view.y, at.y) }, room);
}

/** Moved by shares of what is seen: 0.25 to the right shows a quarter more of the right. */
export function moved(view, { right = 0, down = 0 }, room) {
  const { scale } = view;
  const x = view.x + (right * room.wide) / scale;
  const y = view.y + (down * room.high) / scale;
  return settle({ scale, x, y }, room);
}

/** As CSS, in shares of the picture's own box: nothing has to be worked out when that changes. */
export function transformOf({ scale, x, y }) {
  const shift = (place) => `${((0.5 - place) * scale * 100).toFixed(3)}%`;
  return scale === 1 ? "" : `translate(${shift(x)}, ${shift(y)}) scale(${scale.toFixed(4)})`;
}
