// Frames and their times. A frame is named by its number in the recording, never by seconds:
// films from telephones have no steady rate, and browsers cut times to microseconds.

/**
 * @param {{timescale: number, first_frame: number, start: number, steps: [number, number][]}} times
 *   `start` and the steps are ticks of 1/timescale s; `steps` is the run-length of the gaps.
 */
export function makeClock({ timescale, first_frame: firstFrame, start, steps }) {
  const frameCount = steps.reduce((sum, [, count]) => sum + count, 1);
  const ticks = new Float64Array(frameCount);
  let place = 0;
  let smallestGap = Infinity;
  ticks[0] = start;
  for (const [gap, count] of steps) {
    smallestGap = Math.min(smallestGap, gap);
    for (let i = 0; i < count; i += 1) {
      place += 1;
      ticks[place] = ticks[place - 1] + gap;
    }
  }
  if (!(smallestGap > 0)) throw new RangeError(`times must rise, but a gap is ${smallestGap}`);
  const lastFrame = firstFrame + frameCount - 1;

  const clamp = (frame) => Math.min(lastFrame, Math.max(firstFrame, Math.round(frame)));

  /** Presentation time in this copy, in seconds. */
  const timeOf = (frame) => ticks[clamp(frame) - firstFrame] / timescale;

  /**
   * Where to send the player so that it shows `frame`: inside the frame by a share of the
   * clip's smallest gap. The middle of the frame's own gap fails where the rate varies.
   */
  const aim = (frame, share = 0.5) =>
    frameCount === 1 ? timeOf(frame) : timeOf(frame) + (share * smallestGap) / timescale;

  /** How many frames have begun by `seconds`. */
  const begun = (seconds) => {
    let low = 0;
    let high = frameCount;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (ticks[middle] <= seconds * timescale) low = middle + 1;
      else high = middle;
    }
    return low;
  };

  /** The frame whose presentation time is nearest. */
  const frameAt = (seconds) => {
    const after = Math.min(begun(seconds), frameCount - 1);
    const before = Math.max(after - 1, 0);
    const at = seconds * timescale;
    return firstFrame + (at - ticks[before] < ticks[after] - at ? before : after);
  };

  /** The frame that stands at `seconds`, for browsers that do not name what they present. */
  const frameDuring = (seconds) => firstFrame + Math.max(begun(seconds) - 1, 0);

  /** Seconds from one frame's beginning to another's. */
  const between = (from, to) =>
    (ticks[clamp(to) - firstFrame] - ticks[clamp(from) - firstFrame]) / timescale;

  return {
    frameCount,
    firstFrame,
    lastFrame,
    /** In seconds; of a single frame without end. */
    smallestGap: smallestGap / timescale,
    timeOf,
    aim,
    frameAt,
    frameDuring,
    between,
    clamp,
    /** A moment as 0:07.42, counted from `origin`, the first frame of the clip. */
    label: (frame, origin = firstFrame) => moment(between(origin, frame)),
  };
}

/** Seconds as 0:07.42; a half is rounded to the even side, as the server does. */
export function moment(seconds) {
  const exact = seconds * 100;
  let hundredths = Math.round(exact);
  if (hundredths - exact === 0.5 && hundredths % 2) hundredths -= 1;
  const rest = hundredths % 6000;
  const two = (number) => String(number).padStart(2, "0");
  return `${(hundredths - rest) / 6000}:${two((rest - (rest % 100)) / 100)}.${two(rest % 100)}`;
}

/** Seconds as 0:05, for marks on whole seconds. */
export const wholeMoment = (seconds) => moment(seconds).slice(0, -3);
