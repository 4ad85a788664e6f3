// What the finder offers for what was typed. Pure: tags in, groups out.
// portal/technique/finding.py is its twin; a test asks both the same.

import { ALIKE, FILLERS } from "./speech.js";

export const MOST_ROWS = 7;

/** Small letters without accents, so that "fuse" finds "Füße". */
export const plain = (words) =>
  words.normalize("NFD").replace(/\p{Diacritic}/gu, "").toLowerCase();

// A slip of the finger is forgiven in words of so many letters, a second one in so many.
const ONE_SLIP = 4;
const TWO_SLIPS = 8;
const SHORTEST_STEM = 3;
// How far a word counts that was not typed as it stands there.
const [BEGUN, INSIDE, SLIPPED] = [0.8, 0.35, 0.6];
// How far a word counts by where it stands.
const [NAME, ALSO, SEE, ROUND] = [1, 0.9, 0.6, 0.4];
// Of what was typed, so much has to be found.
const ENOUGH = 0.15;
const EPSILON = 1e-9;
const FIRST_WORDS = 0.3;
// How far a term goes forward that is likely here, whatever was typed.
const LIKELY = { open: 0.5, month: 0.25, phase: 0.12, stroke: 0.06, major: 0.04, moderate: 0.02 };

/**
 * At most seven terms `{slug, name, phase, see, also, cue, point}`, best first, in groups by
 * phase. A term is as good as the words of it that were typed, the rare ones first, and better
 * the closer one of its own phrases comes to all that was typed. `here` says what is likely: the
 * swimmer's open `items` and the squad's `month` as sets of slugs, `phase` and `stroke` at hand.
 * @returns {{phase: string, terms: object[]}[]}
 */
export function offer(terms, typed, { most = MOST_ROWS, here = {} } = {}) {
  const found = indexOf(terms).find(typed);
  const ranked = [...found]
    .map(([place, score]) => ({ place, term: terms[place], score: score + likely(terms[place], here) }))
    .sort((one, other) => other.score - one.score || one.place - other.place)
    .slice(0, most);
  const groups = new Map();
  for (const { term } of ranked) {
    groups.set(term.phase, [...(groups.get(term.phase) ?? []), term]);
  }
  return [...groups].map(([phase, found]) => ({ phase, terms: found }));
}

function likely(term, { items, month, phase, stroke }) {
  const has = (set) => set?.has(term.slug) || false;
  return (
    (has(items) ? LIKELY.open : 0) +
    (has(month) ? LIKELY.month : 0) +
    (phase && term.phase === phase ? LIKELY.phase : 0) +
    (stroke && term.strokes?.includes(stroke) ? LIKELY.stroke : 0) +
    (LIKELY[term.severity] ?? 0)
  );
}

/** Made once for a list of terms. */
const indices = new WeakMap();

function indexOf(terms) {
  if (!indices.has(terms)) indices.set(terms, new Index(terms));
  return indices.get(terms);
}

const wordsOf = (text) => plain(text).replace(/['’]/g, "").split(/[^\p{L}\p{N}]+/u).filter(Boolean);

/** "breathing" and "breathes" are "breath", "dropped" is "drop". */
function stemOf(word) {
  const stem = word.replace(/(ings|ing|ed|es|s|e|ly)$/u, "");
  return stem.length < SHORTEST_STEM ? word : stem.replace(/([bdgmnpt])\1$/u, "$1");
}

/** Small words are left out as long as there are others. */
function meantOf(words) {
  const kept = words.filter((word) => !FILLERS.has(word));
  return kept.length > 0 ? kept : words;
}

const SAME = new Map();
for (const group of ALIKE) {
  for (const word of group) {
    if (!SAME.has(stemOf(word))) SAME.set(stemOf(word), stemOf(group[0]));
  }
}
const sameOf = (word) => SAME.get(stemOf(word)) ?? stemOf(word);

const highest = (map, key, value) => map.set(key, Math.max(value, map.get(key) ?? 0));

class Index {
  constructor(terms) {
    this.count = terms.length;
    // How much a word counts in a term: word, place of the term, weight.
    this.weights = new Map();
    // Words as they stand in the texts; what each is for us.
    this.spelled = new Map();
    this.names = terms.map(({ name }) => wordsOf(name).join(" "));
    terms.forEach((term, place) => this.read(term, place));
    this.unknown = Math.log(1 + this.count);
    this.rarity = new Map(
      [...this.weights].map(([word, places]) => [word, Math.log(1 + this.count / places.size)]),
    );
    this.phrases = terms.map(({ name, also = [] }) => [name, ...also].map((said) => this.phrase(said)));
  }

  read({ name, also = [], see = "", cue = "", point = "", phase = "" }, place) {
    const pieces = [[NAME, name], ...also.map((said) => [ALSO, said]), [SEE, see]];
    pieces.push(...[cue, point, phase].map((said) => [ROUND, said]));
    for (const [weight, text] of pieces) {
      for (const word of wordsOf(text)) {
        if (!FILLERS.has(word)) this.stand(place, word, weight);
      }
    }
  }

  stand(place, word, weight) {
    const same = sameOf(word);
    this.spelled.set(word, same);
    if (!this.weights.has(same)) this.weights.set(same, new Map());
    highest(this.weights.get(same), place, weight);
  }

  phrase(text) {
    const words = new Set(meantOf(wordsOf(text)).map(sameOf));
    return { words, size: Math.hypot(...[...words].map((word) => this.rare(word))) };
  }

  rare(word) {
    return this.rarity.get(word) ?? this.unknown;
  }

  /** How well each term answers, by its place; those that do not are missing. */
  find(typed) {
    const words = wordsOf(typed);
    const asked = meantOf(words);
    if (asked.length === 0) return new Map(this.names.map((_name, place) => [place, 0]));
    const meanings = asked.map((word) => this.meanings(word, word === words.at(-1)));
    const totals = meanings.map((each) => this.rarest(each));
    const whole = totals.reduce((sum, total) => sum + total, 0);
    const size = Math.hypot(...totals);
    const known = new Set(meanings.filter((each) => each.size > 0).map(surest));
    const begun = words.join(" ");
    const found = new Map();
    for (const [place, sum] of this.sums(meanings, totals)) {
      if (sum / whole < ENOUGH - EPSILON) continue;
      const first = this.names[place].startsWith(begun) ? FIRST_WORDS : 0;
      found.set(place, sum / whole + this.nearest(place, known, size) + first);
    }
    return found;
  }

  /** Words of the catalogue that may be meant, and how sure that is. */
  meanings(word, isLast) {
    const found = new Map();
    const same = sameOf(word);
    if (this.weights.has(same)) found.set(same, 1);
    const gather = (counts, fits) => {
      for (const [other, means] of this.spelled) if (fits(other)) highest(found, means, counts);
    };
    if (found.size === 0 || isLast) gather(BEGUN, (other) => other.startsWith(word));
    if (found.size === 0) gather(SLIPPED, (other) => isNear(word, other));
    if (found.size === 0 && word.length >= ONE_SLIP) gather(INSIDE, (other) => other.includes(word));
    return found;
  }

  rarest(meanings) {
    if (meanings.size === 0) return this.unknown;
    const best = Math.max(...meanings.values());
    const sure = [...meanings].filter(([, counts]) => counts === best);
    return Math.max(...sure.map(([word]) => this.rare(word)));
  }

  sums(meanings, totals) {
    const sums = new Map();
    meanings.forEach((each, at) => {
      const best = new Map();
      for (const [word, counts] of each) {
        for (const [place, weight] of this.weights.get(word)) highest(best, place, counts * weight);
      }
      for (const [place, weight] of best) sums.set(place, (sums.get(place) ?? 0) + totals[at] * weight);
    });
    return sums;
  }

  /** How close the term's closest phrase comes to all that was typed, 0 to 1. */
  nearest(place, known, size) {
    const closeness = this.phrases[place].map((phrase) => {
      const shared = [...known].filter((word) => phrase.words.has(word));
      return shared.reduce((sum, word) => sum + this.rare(word) ** 2, 0) / (size * phrase.size || 1);
    });
    return Math.max(0, ...closeness);
  }
}

const surest = (meanings) => [...meanings].reduce((one, other) => (other[1] > one[1] ? other : one))[0];

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
