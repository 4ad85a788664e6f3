// What the finder offers for what was typed. Pure: tags in, groups out.

export const MOST_ROWS = 7;

/** Small letters without accents, so that "fuse" finds "Füße". */
export const plain = (words) =>
  words.normalize("NFD").replace(/\p{Diacritic}/gu, "").toLowerCase();

// Said around what is meant; a term need not have them.
const FILLERS = new Set(
  (
    "a an and are at be by come comes do does doesnt dont for from go goes his her in is it of on " +
    "or she he the their they to too very when with"
  ).split(" "),
);
// A slip of the finger is forgiven in words of so many letters, a second one in so many.
const ONE_SLIP = 4;
const TWO_SLIPS = 8;
const SHORTEST_STEM = 3;
// Less than from one rank to the next.
const ENDING = 0.5;
// More than the last of the ranks.
const BEHIND = 10;

/**
 * At most seven terms `{slug, name, phase, see, also}`, best first, in groups by phase: what
 * begins with the typed words, then what has them in its name, then what is also called so, then
 * what is seen, and last what was typed with a slip.
 * @returns {{phase: string, terms: object[]}[]}
 */
export function offer(terms, typed, most = MOST_ROWS) {
  const words = wordsOf(plain(typed).replace(/['’]/g, ""));
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

/** The worst of the words decides. As long as most words are somewhere, those that are nowhere
 * put the term behind all that have them; else they rule it out. */
function rankOf(term, words) {
  const texts = textsOf(term);
  const meant = words.filter((word) => !FILLERS.has(word));
  const ranks = (meant.length > 0 ? meant : words).map((word) => wordRank(texts, word));
  const found = ranks.filter((rank) => rank < Infinity);
  const missing = ranks.length - found.length;
  if (missing * 2 >= ranks.length && missing > 0) return Infinity;
  return Math.max(0, ...found) + missing * BEHIND;
}

/** As it is typed, or else without its ending. */
function wordRank(texts, word) {
  const stem = stemOf(word);
  const rank = rankAs(texts, word);
  return stem === word ? rank : Math.min(rank, rankAs(texts, stem) + ENDING);
}

/** "breathing" and "breathes" are "breath", "dropped" is "drop". */
function stemOf(word) {
  const stem = word.replace(/(ing|ed|es|s|e)$/u, "");
  return stem.length < SHORTEST_STEM ? word : stem.replace(/([bdgmnpt])\1$/u, "$1");
}

/** What is looked through for a term, made once: each text as words between spaces. */
const known = new WeakMap();

function textsOf(term) {
  const found = known.get(term);
  if (found) return found;
  const [name, also, see] = [term.name, (term.also ?? []).join(" "), term.see].map((text) =>
    wordsOf(plain(text)),
  );
  const texts = { name: spaced(name), also: spaced(also), see: spaced(see), words: [...name, ...also] };
  known.set(term, texts);
  return texts;
}

const spaced = (words) => ` ${words.join(" ")}`;

function rankAs({ name, also, see, words }, word) {
  const begun = ` ${word}`;
  if (name.startsWith(begun)) return 0;
  if (name.includes(begun)) return 1;
  if (also.includes(begun)) return 2;
  if (see.includes(begun)) return 3;
  if (name.includes(word)) return 4;
  return words.some((other) => isNear(word, other)) ? 5 : Infinity;
}

const wordsOf = (text) => text.split(/[^\p{L}\p{N}]+/u).filter(Boolean);

/** Whether `typed` is the beginning of `word`, but for a slip of the finger. */
export function isNear(typed, word) {
  const most = typed.length >= TWO_SLIPS ? 2 : typed.length >= ONE_SLIP ? 1 : 0;
  // Hardly anybody slips on the first letter, unless it changes places with the second.
  if (most === 0 || (typed[0] !== word[0] && typed[0] !== word[1])) return false;
  const row = slips(typed, word);
  return Math.min(...row.slice(Math.max(0, typed.length - most))) <= most;
}

/** For each beginning of `word`, how many slips make `typed` of it: a letter too many, too few,
 * another one, or two that changed places. */
function slips(typed, word) {
  let before = [];
  let row = Array.from({ length: word.length + 1 }, (_none, place) => place);
  for (let i = 1; i <= typed.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= word.length; j += 1) {
      const isSame = typed[i - 1] === word[j - 1];
      const steps = [row[j] + 1, next[j - 1] + 1, row[j - 1] + (isSame ? 0 : 1)];
      const isSwap = i > 1 && j > 1 && typed[i - 1] === word[j - 2] && typed[i - 2] === word[j - 1];
      if (isSwap) steps.push(before[j - 2] + 1);
      next.push(Math.min(...steps));
    }
    [before, row] = [row, next];
  }
  return row;
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
