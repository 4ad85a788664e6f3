// What the finder offers for what was typed. Pure: tags in, groups out.

export const MOST_ROWS = 7;

/** Small letters without accents, so that "fuse" finds "Füße". */
export const plain = (words) =>
  words.normalize("NFD").replace(/\p{Diacritic}/gu, "").toLowerCase();

/**
 * At most seven terms `{slug, name, phase, see}`, best first, in groups by phase: what begins
 * with the typed words, then what has them in its name, then what is seen.
 * @returns {{phase: string, terms: object[]}[]}
 */
export function offer(terms, typed, most = MOST_ROWS) {
  const words = plain(typed).split(/\s+/).filter(Boolean);
  const ranked = terms
    .map((term, place) => ({ term, place, rank: rankOf(term, words) }))
    .filter(({ rank }) => rank < Infinity)
    .sort((one, other) => one.rank - other.rank || one.place - other.place)
    .slice(0, most);
  const groups = new Map();
  for (const { term } of ranked) {
    groups.set(term.phase, [...(groups.get(term.phase) ?? []), term]);
  }
  return [...groups].map(([phase, found]) => ({ phase, terms: found }));
}

/** The worst of the words decides; a word that is nowhere rules the term out. */
function rankOf({ name, see }, words) {
  return Math.max(0, ...words.map((word) => wordRank(plain(name), plain(see), word)));
}

function wordRank(name, see, word) {
  if (name.startsWith(word)) return 0;
  if (beginsAWord(name, word)) return 1;
  if (beginsAWord(see, word)) return 2;
  return name.includes(word) ? 3 : Infinity;
}

function beginsAWord(text, word) {
  return ` ${text.replace(/[^\p{L}\p{N}]+/gu, " ")}`.includes(` ${word}`);
}

/** The name in three pieces: before, the first typed word, after. */
export function split(name, typed) {
  const word = plain(typed).split(/\s+/).find(Boolean) ?? "";
  const folded = [...name].map((letter) => plain(letter) || letter);
  const at = word ? folded.join("").indexOf(word) : -1;
  if (at < 0 || folded.some((letter) => letter.length !== 1)) return [name, "", ""];
  const letters = [...name];
  return [
    letters.slice(0, at).join(""),
    letters.slice(at, at + word.length).join(""),
    letters.slice(at + word.length).join(""),
  ];
}
