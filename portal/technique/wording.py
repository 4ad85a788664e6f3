"""A club's own words laid over everybody's: what it calls a thing, says with it, leaves out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from django.db.models import F, OuterRef, Subquery
from django.db.models.functions import Coalesce

from portal.people.models import Club, Squad
from portal.technique.citing import Citation
from portal.technique.models import (
    Checkpoint,
    Drill,
    Fault,
    MonthList,
    Rule,
    RuleBook,
    Term,
    TermQuerySet,
    Vocabulary,
    Wording,
)

TABLES: dict[type[Term], str] = {
    Checkpoint: Wording.Table.CHECKPOINT,
    Fault: Wording.Table.FAULT,
    Drill: Wording.Table.DRILL,
}
# More are no short list.
MOST_OF_A_MONTH = 7

TermT = TypeVar("TermT", Checkpoint, Fault, Drill)


@dataclass(frozen=True)
class Words:
    """Of one club, or without one everybody's."""

    club: Club | None = None
    book: str = RuleBook.WORLD
    stamp: str = ""
    """Changes whenever the club changes something."""
    said: dict[tuple[str, str], Wording] = field(default_factory=dict)

    @classmethod
    def of(cls, club: Club | None) -> Words:
        """Two queries; the second only if the club has ever changed something."""
        kept = Vocabulary.objects.filter(club=club).first() if club else None
        if kept is None:
            return cls(club=club)
        said = {(each.table, each.slug): each for each in Wording.objects.filter(club=club)}
        return cls(club=club, book=kept.rule_book, stamp=kept.stamp.hex, said=said)

    def terms(self, rows: TermQuerySet[TermT]) -> TermQuerySet[TermT]:
        """Everybody's and the club's own, those that it left out too."""
        return rows.of_club(self.club)

    def offered(self, rows: Iterable[TermT]) -> list[TermT]:
        """Without what the club left out."""
        return [self.spoken(row) for row in rows if not self.hides(row)]

    def hides(self, term: Term) -> bool:
        wording = self.wording(term)
        return bool(wording and wording.is_hidden)

    def wording(self, term: Term) -> Wording | None:
        return self.said.get((TABLES.get(type(term), ""), term.slug))

    def spoken(self, term: TermT) -> TermT:
        """The row with the club's words on it, for showing and never for saving."""
        self._put_on(term)
        return term

    def _put_on(self, term: Term) -> None:
        wording = self.wording(term)
        if wording is None:
            return
        term.name = wording.name or term.name
        if isinstance(term, Fault):
            term.cue = wording.cue or term.cue
            term.cue_young = wording.cue_young or term.cue_young

    def lay_over(self, terms: Iterable[Term | None]) -> None:
        """The club's words on each of these rows."""
        for term in terms:
            if term is not None:
                self._put_on(term)

    def drills(self, fault: Fault, slugs: Sequence[str]) -> list[str]:
        """The club's own choice first, then those of the catalogue."""
        wording = self.wording(fault)
        return list(dict.fromkeys([*(wording.drills if wording else ()), *slugs]))

    def citations(self, rule: Rule) -> list[Citation]:
        return self.sorted(rule.citations)

    def sorted(self, citations: Sequence[Citation]) -> list[Citation]:
        """The club's book first."""
        return sorted(citations, key=lambda each: each.get("book") != self.book)


def our_name(club_id: int, table: Wording.Table, path: str = "") -> Coalesce:
    """For a query that holds a term at `path`, or is about terms: the club's name for it, else
    everybody's."""
    at = f"{path}__" if path else ""
    ours = Wording.objects.filter(club=club_id, table=table, slug=OuterRef(f"{at}slug"))
    return Coalesce(Subquery(ours.exclude(name="").values("name")[:1]), F(f"{at}name"))


def month_of(squad: Squad, day: date) -> list[str]:
    """Slugs of the checkpoints on which the squad works this month."""
    found = MonthList.objects.filter(squad=squad, month=day.replace(day=1)).first()
    return list(found.slugs) if found else []


def months(
    words: Words, squads: Sequence[Squad], day: date
) -> list[tuple[Squad, list[Checkpoint]]]:
    """What each of these squads works on this month, in its order. Two queries."""
    lists = MonthList.objects.filter(squad__in=squads, month=day.replace(day=1))
    chosen: dict[int, list[str]] = dict(lists.values_list("squad_id", "slugs"))
    slugs = {slug for row in chosen.values() for slug in row}
    rows = words.terms(Checkpoint.objects.filter(slug__in=slugs))
    points = {row.slug: words.spoken(row) for row in rows}
    return [
        (squad, [points[slug] for slug in chosen.get(squad.pk, ()) if slug in points])
        for squad in squads
    ]
