"""The search box of the catalogue: faults, checkpoints, drills and rules by what people say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from portal.people.models import Club
from portal.technique.finding import WEIGHTY, Index, Text
from portal.technique.models import Checkpoint, Drill, Edition, Fault, Rule, Term
from portal.technique.shelving import stroke_words
from portal.technique.wording import Words

MOST_FOUND = 12
KINDS = {"fault": _("fault"), "checkpoint": _("checkpoint"), "drill": _("drill"), "rule": _("rule")}


class Entry(NamedTuple):
    kind: str
    slug: str
    name: str
    said: str
    strokes: str
    severity: str


@dataclass(frozen=True)
class Hit:
    entry: Entry

    @property
    def address(self) -> str:
        return reverse(f"technique:{self.entry.kind}", args=[self.entry.slug])

    @property
    def kind_word(self) -> str:
        return str(KINDS[self.entry.kind])


def seek(typed: str, words: Words) -> list[Hit]:
    """Two queries as long as the words are the same as before."""
    edition = Edition.objects.first()
    stamp = f"{edition.stamp if edition else ''}-{words.stamp}-{get_language()}"
    entries, index = _index(words.club.pk if words.club else 0, stamp)
    likely = [WEIGHTY.get(entry.severity, 0) for entry in entries]
    return [Hit(entries[place]) for place in index.best(typed, MOST_FOUND, likely=likely)]


@lru_cache(maxsize=8)
def _index(club_id: int, _stamp: str) -> tuple[list[Entry], Index]:
    words = Words.of(Club.objects.filter(pk=club_id).first())
    found = list(_entries(words))
    return [entry for entry, _text in found], Index([text for _entry, text in found])


def _entries(words: Words) -> Iterator[tuple[Entry, Text]]:
    faults = words.terms(Fault.objects.select_related("checkpoint"))
    for fault in words.offered(faults):
        round_it = " ".join([fault.cue, fault.checkpoint.name, fault.phase_word])
        yield _entry("fault", fault, fault.see, also=fault.also, round_it=round_it)
    for point in words.offered(words.terms(Checkpoint.objects.all())):
        yield _entry("checkpoint", point, point.good)
    for drill in words.offered(words.terms(Drill.objects.all())):
        yield _entry("drill", drill, drill.how)
    for rule in Rule.objects.current():
        yield _entry("rule", rule, rule.paraphrase)


def _entry(
    kind: str,
    term: Term,
    said: str,
    *,
    also: Sequence[str] = (),
    round_it: str = "",
) -> tuple[Entry, Text]:
    strokes = ", ".join(stroke_words(term))
    text = Text(term.name, also, said, f"{round_it or term.phase_word} {strokes}")
    severity = getattr(term, "severity", "")
    return Entry(kind, term.slug, term.name, said, strokes, severity), text
