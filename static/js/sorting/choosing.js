// Small decisions of the sorting table that need no page.

/** The place after `place` in a row of `count`, round and round; nothing chosen is -1. */
export const nextPlace = (place, count) => (place + 1) % count;

/**
 * The place of the one name that `typed` means: its number in the list, the whole name, or a
 * beginning of any of its words that no other name has. -1 when it means nobody or several.
 */
export function placeOfName(names, typed) {
  const wanted = fold(typed);
  if (!wanted) return -1;
  if (/^\d+$/.test(wanted)) return Number(wanted) <= names.length ? Number(wanted) - 1 : -1;
  const folded = names.map(fold);
  const whole = folded.indexOf(wanted);
  if (whole >= 0) return whole;
  const found = folded
    .map((name, place) => (begins(name, wanted) ? place : -1))
    .filter((place) => place >= 0);
  return found.length === 1 ? found[0] : -1;
}

const begins = (name, wanted) =>
  name.startsWith(wanted) || name.split(" ").some((word) => word.startsWith(wanted));

/** Without accents and capitals: who types "dunar" means Dunăreanu. */
const fold = (words) =>
  words
    .trim()
    .normalize("NFD")
    .replace(/\p{M}/gu, "")
    .toLowerCase();

/** The stretch that holds `frame`; else, `after` it, the next, or the one before; undefined if none. */
export function stretchAt(stretches, frame, { after }) {
  const inside = stretches.filter(({ first, last }) => first <= frame && frame <= last);
  if (inside.length) return inside.at(-1);
  return after
    ? stretches.find(({ first }) => first > frame)
    : stretches.filter(({ last }) => last < frame).at(-1);
}

/** Which of the ends `{first, last}`, in pixels, lies within `reach` of `x`; null if neither does. */
export function grabbed(ends, x, reach) {
  const near = Object.entries(ends)
    .map(([name, at]) => ({ name, far: Math.abs(at - x) }))
    .filter(({ far }) => far <= reach)
    .sort((one, other) => one.far - other.far);
  return near.length ? near[0].name : null;
}

/** The place of the guess that begins next after `frame`, round and round; -1 if there is none. */
export function nextGuess(guesses, frame) {
  const later = guesses.findIndex(({ first }) => first > frame);
  return later >= 0 || !guesses.length ? later : 0;
}

/** The spacing of the floats in seconds, for a take of that length; `strong` ones are dark. */
export function ruler(seconds) {
  if (seconds <= 12) return { every: 0.2, strong: 1 };
  if (seconds <= 90) return { every: 1, strong: 10 };
  return { every: 10, strong: 60 };
}

/**
 * The parts of 0 to `end` that no stretch covers, in order.
 * @param {[number, number][]} stretches
 */
export function gaps(stretches, end) {
  const found = [];
  let from = 0;
  for (const [first, last] of [...stretches].sort((a, b) => a[0] - b[0])) {
    if (first > from) found.push([from, first]);
    from = Math.max(from, last);
  }
  if (from < end) found.push([from, end]);
  return found;
}
