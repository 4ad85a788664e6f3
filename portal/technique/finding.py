"""Finding a term by what people say. Knows no database; static/js/bench/matching.js is its twin.

Words lose their endings, and words that mean the same on the deck become one. What is rare in the
catalogue weighs more than what stands everywhere. A term is as good as the words of it that were
typed, and better the closer one of its own phrases comes to all that was typed.
"""

from __future__ import annotations

import heapq
import math
import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field

from portal.technique.speech import ALIKE, FILLERS

MOST_ROWS = 7
ONE_SLIP, TWO_SLIPS = 4, 8
SHORTEST_STEM = 3
ENDINGS = re.compile(r"(ings|ing|ed|es|s|e|ly)$")
DOUBLED = re.compile(r"([bdgmnpt])\1$")
# How far a word counts that was not typed as it stands there.
BEGUN, INSIDE, SLIPPED = 0.8, 0.35, 0.6
# How far a word counts by where it stands.
NAME, ALSO, SEE, ROUND = 1.0, 0.9, 0.6, 0.4
# Of what was typed, so much has to be found.
ENOUGH = 0.15
FIRST_WORDS = 0.3
# How far a fault goes forward for how much it matters.
WEIGHTY = {"major": 0.04, "moderate": 0.02}
EPSILON = 1e-9


@dataclass(frozen=True)
class Text:
    """What a term is found by; `round` is said around it: its cue, its checkpoint."""

    name: str
    also: Sequence[str] = ()
    see: str = ""
    round: str = ""

    def weighed(self) -> Iterator[tuple[float, str]]:
        yield NAME, self.name
        yield from ((ALSO, said) for said in self.also)
        yield SEE, self.see
        yield ROUND, self.round


def plain(words: str) -> str:
    """Small letters without accents, so that "fuse" finds "Füße"."""
    letters = unicodedata.normalize("NFD", words)
    return "".join(each for each in letters if not unicodedata.combining(each)).lower()


def words_of(text: str) -> list[str]:
    return [word for word in re.split(r"[\W_]+", re.sub(r"['’]", "", plain(text))) if word]


def stem(word: str) -> str:
    """ "breathing" and "breathes" are "breath", "dropped" is "drop"."""
    short = ENDINGS.sub("", word)
    if len(short) < SHORTEST_STEM:
        return word
    return DOUBLED.sub(r"\1", short)


def meant(words: Sequence[str]) -> list[str]:
    kept = [word for word in words if word not in FILLERS]
    return kept or list(words)


@dataclass
class Index:
    """Made once of the terms, asked often."""

    texts: Sequence[Text]
    alike: Sequence[Sequence[str]] = ALIKE
    same: dict[str, str] = field(init=False, default_factory=dict)
    weights: dict[str, dict[int, float]] = field(init=False)
    """How much a word counts in a term, by word and place of the term."""
    spelled: dict[str, str] = field(init=False, default_factory=dict)
    """Words as they stand in the texts; what each is for us."""
    phrases: list[list[tuple[frozenset[str], float]]] = field(init=False)
    names: list[str] = field(init=False)

    def __post_init__(self) -> None:
        for group in self.alike:
            for word in group:
                self.same.setdefault(stem(word), stem(group[0]))
        self.weights = defaultdict(dict)
        for place, text in enumerate(self.texts):
            for weight, said in text.weighed():
                self._stand(place, words_of(said), weight)
        self.unknown = math.log(1 + len(self.texts))
        self.rarity = {
            word: math.log(1 + len(self.texts) / len(places))
            for word, places in self.weights.items()
        }
        self.names = [" ".join(words_of(text.name)) for text in self.texts]
        self.phrases = [
            [self._phrase(said) for said in (text.name, *text.also)] for text in self.texts
        ]

    def _stand(self, place: int, words: Sequence[str], weight: float) -> None:
        for word in words:
            if word in FILLERS:
                continue
            same = self._same(word)
            self.spelled[word] = same
            places = self.weights[same]
            places[place] = max(weight, places.get(place, 0))

    def _same(self, word: str) -> str:
        short = stem(word)
        return self.same.get(short, short)

    def _phrase(self, text: str) -> tuple[frozenset[str], float]:
        """Its words and their length together."""
        words = frozenset(self._same(word) for word in meant(words_of(text)))
        return words, math.hypot(*(self._rare(word) for word in words))

    def _rare(self, word: str) -> float:
        return self.rarity.get(word, self.unknown)

    def find(self, typed: str) -> dict[int, float]:
        """How well each term answers, by its place; those that do not are missing."""
        words = words_of(typed)
        asked = meant(words)
        if not asked:
            return dict.fromkeys(range(len(self.texts)), 0.0)
        meanings = [self._meanings(word, is_last=word == words[-1]) for word in asked]
        totals = [self._rarest(each) for each in meanings]
        whole, length = sum(totals), math.hypot(*totals)
        known = {max(each, key=each.__getitem__) for each in meanings if each}
        begun, found = " ".join(words), {}
        for place, score in self._sums(meanings, totals).items():
            if score / whole < ENOUGH - EPSILON:
                continue
            first = FIRST_WORDS if self.names[place].startswith(begun) else 0
            found[place] = score / whole + self._nearest(place, known, length) + first
        return found

    def best(self, typed: str, most: int = MOST_ROWS, *, likely: Sequence[float] = ()) -> list[int]:
        """The places of the best ones, best first. `likely` is added to how well a term answers,
        term by term: what is likely here goes forward among what was typed."""
        found = self.find(typed)
        if likely:
            found = {place: score + likely[place] for place, score in found.items()}
        return heapq.nsmallest(most, found, key=lambda place: (-found[place], place))

    def _meanings(self, word: str, *, is_last: bool) -> dict[str, float]:
        """Words of the catalogue that may be meant, and how sure that is."""
        same = self._same(word)
        found = {same: 1.0} if same in self.weights else {}
        if not found or is_last:
            found = {**self._spelled(BEGUN, lambda other: other.startswith(word)), **found}
        if not found:
            found = self._spelled(SLIPPED, lambda other: is_near(word, other))
        if not found and len(word) >= ONE_SLIP:
            found = self._spelled(INSIDE, lambda other: word in other)
        return found

    def _spelled(self, counts: float, fits: Callable[[str], bool]) -> dict[str, float]:
        return {means: counts for other, means in self.spelled.items() if fits(other)}

    def _rarest(self, meanings: Mapping[str, float]) -> float:
        best = max(meanings.values(), default=0)
        sure = [self._rare(word) for word, counts in meanings.items() if counts == best]
        return max(sure, default=self.unknown)

    def _sums(
        self, meanings: Sequence[Mapping[str, float]], totals: Sequence[float]
    ) -> dict[int, float]:
        sums: dict[int, float] = defaultdict(float)
        for each, total in zip(meanings, totals, strict=True):
            best: dict[int, float] = {}
            for word, counts in each.items():
                for place, weight in self.weights[word].items():
                    best[place] = max(best.get(place, 0), counts * weight)
            for place, weight in best.items():
                sums[place] += total * weight
        return sums

    def _nearest(self, place: int, known: Set[str], length: float) -> float:
        """How close the term's closest phrase comes to all that was typed, 0 to 1."""
        best = 0.0
        for words, size in self.phrases[place]:
            shared = sum(self._rare(word) ** 2 for word in known & words)
            if shared:
                best = max(best, shared / (length * size))
        return best


def is_near(typed: str, word: str) -> bool:
    """Whether `typed` is the beginning of `word`, but for a slip of the finger."""
    most = 2 if len(typed) >= TWO_SLIPS else 1 if len(typed) >= ONE_SLIP else 0
    # Hardly anybody slips on the first letter, unless it changes places with the second.
    if not most or typed[0] not in word[:2]:
        return False
    row = slips(typed, word)
    return min(row[max(0, len(typed) - most) :], default=most + 1) <= most


def slips(typed: str, word: str) -> list[int]:
    """For each beginning of `word`, how many slips make `typed` of it: a letter too many, too
    few, another one, or two that changed places."""
    before: list[int] = []
    row = list(range(len(word) + 1))
    for i, letter in enumerate(typed, 1):
        following = [i]
        for j, other in enumerate(word, 1):
            step = min(row[j] + 1, following[j - 1] + 1, row[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == word[j - 2] and typed[i - 2] == other:
                step = min(step, before[j - 2] + 1)
            following.append(step)
        before, row = row, following
    return row
