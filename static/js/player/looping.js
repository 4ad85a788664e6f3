// Round and round a stretch of the film: where it begins, where it ends, and off again.

// Around this moment, where no stretch was marked.
const AROUND_S = 0.5;

/**
 * Hears `loop:begin`, `loop:end` (both here), `loop:toggle` and `loop:off` on the stage, asks the
 * player, and tells `loop:changed {first, last}`, which are null without a loop.
 */
export function createLooping(stage, { player }) {
  let loop = null;
  let kept = null;
  const settle = (next) => {
    kept = next ?? loop;
    loop = next;
    const { first = null, last = null } = loop ?? {};
    const ask = (name, detail) => stage.dispatchEvent(new CustomEvent(name, { detail }));
    ask("loop:request", loop ?? {});
    ask("loop:changed", { first, last });
  };
  const begin = () => settle(from(loop, player.target, player));
  const end = () => settle(until(loop, player.target, player));
  const toggle = () => settle(loop ? null : around(kept, player.target, player));
  stage.addEventListener("loop:begin", begin);
  stage.addEventListener("loop:end", end);
  stage.addEventListener("loop:toggle", toggle);
  stage.addEventListener("loop:off", () => settle(null));
}

/** From `frame` to where the loop ends, if that lies after it, else to the end of the clip. */
export function from(loop, frame, { first, last }) {
  const begins = Math.max(first, Math.min(frame, last - 1));
  return { first: begins, last: loop && loop.last > begins ? loop.last : last };
}

export function until(loop, frame, { first, last }) {
  const ends = Math.min(last, Math.max(frame, first + 1));
  return { first: loop && loop.first < ends ? loop.first : first, last: ends };
}

/** What was marked before if this frame lies in it, else a second around it. */
export function around(kept, frame, { first, last, clock }) {
  if (kept && kept.first <= frame && frame <= kept.last) return kept;
  const at = (seconds) =>
    Math.min(last, Math.max(first, clock.frameAt(clock.timeOf(frame) + seconds)));
  const [begins, ends] = [at(-AROUND_S), at(AROUND_S)];
  return ends > begins ? { first: begins, last: ends } : { first, last };
}
