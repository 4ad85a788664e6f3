// Pennants that would hang on top of each other become one, with their number on its cloth.

import { CLOTH } from "./hanging.js";

/** So many hang side by side below one width of cloth: one on each string length. */
const ROOM = 2;
/** Worst first: the sign of a pennant that stands for several. */
const SIGNS = ["not legal", "work on", "good"];

/**
 * `pennants` as the rope gets them, `x(frame)` in pixels, `now` the code of the one that lies open.
 * `tell(count)` names so many. Those that stand alone come as they are and in their order; each
 * other gets a `count` and opens with the one that lies open, else with its first.
 */
export function gather(pennants, { x, now, tell }) {
  const groups = bundles(pennants.toSorted((one, other) => one.frame - other.frame), x);
  const many = new Map();
  for (const group of groups.filter(({ length }) => length > ROOM)) {
    for (const pennant of group) many.set(pennant, group);
  }
  const seen = new Set();
  return pennants.flatMap((pennant) => {
    const group = many.get(pennant);
    if (!group) return [pennant];
    if (seen.has(group)) return [];
    seen.add(group);
    return [bundle(group, now, tell)];
  });
}

/** From left to right, each as wide as one cloth. */
function bundles(ordered, x) {
  const groups = [];
  let until = -Infinity;
  for (const pennant of ordered) {
    const at = x(pennant.frame);
    if (at > until) {
      groups.push([]);
      until = at + CLOTH.width;
    }
    groups.at(-1).push(pennant);
  }
  return groups;
}

function bundle(group, now, tell) {
  const first = group.find(({ code }) => code === now) ?? group[0];
  const verdicts = SIGNS.map((sign) => [sign, group.filter((one) => one.sign === sign)]);
  const present = verdicts.filter(([, ones]) => ones.length);
  return {
    ...first,
    frame: first.frame,
    last_frame: null,
    count: group.length,
    sign: present[0]?.[0] ?? first.sign,
    said: present.map(([sign, ones]) => `${ones.length} ${ones[0].said ?? sign}`).join(", "),
    words: tell(group.length),
    note: "",
    focus: group.some(({ focus }) => focus),
    draft: group.every(({ draft }) => draft),
  };
}
