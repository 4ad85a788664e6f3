"""The catalogue as it is read: by stroke and phase, and one term with all that belongs to it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import Http404

from portal.technique.citing import Source, source_of
from portal.technique.models import (
    Caution,
    Checkpoint,
    Drill,
    Equipment,
    Fault,
    Phase,
    Rule,
    Stroke,
    Term,
    TermQuerySet,
)
from portal.technique.viewing import view_words
from portal.technique.wording import Words

ORDER = {phase: place for place, phase in enumerate(Phase.values)}


@dataclass(frozen=True)
class Line:
    """A fault below its checkpoint."""

    fault: Fault
    is_ruled: bool


@dataclass(frozen=True)
class Point:
    checkpoint: Checkpoint
    lines: list[Line]


@dataclass(frozen=True)
class Shelf:
    """A phase of a stroke."""

    phase: str
    word: str
    points: list[Point]


@dataclass(frozen=True)
class Article:
    """A rule with where it stands, the club's book first."""

    rule: Rule
    views: list[str]
    first: Source | None
    others: list[Source]

    @property
    def phase_word(self) -> str:
        return self.rule.phase_word


@dataclass(frozen=True)
class Exercise:
    drill: Drill
    cautions: list[Caution]
    things: list[Equipment]


@dataclass(frozen=True)
class Sheet:
    """One fault or checkpoint on a page of its own."""

    term: Any
    original: str
    """What everybody calls it, when the club calls it something else."""
    checkpoint: Checkpoint
    faults: list[Line]
    drills: list[Exercise]
    articles: list[Article]
    cautions: list[Caution]
    views: list[str]
    published: list[str]

    @property
    def strokes(self) -> list[str]:
        return stroke_words(self.term)


def stroke_words(term: Term) -> list[str]:
    """Empty for what holds for any stroke."""
    return [str(Stroke(slug).label) for slug in term.stroke_slugs if slug in Stroke.values]


def shelves(stroke: str, words: Words) -> list[Shelf]:
    """Three queries. What no fault of the stroke points at has no place here."""
    faults = words.offered(_stroke(words.terms(Fault.objects.all()), stroke))
    ruled = set(Fault.rules.through.objects.values_list("fault_id", flat=True))
    found: dict[int, list[Line]] = defaultdict(list)
    for fault in faults:
        found[fault.checkpoint_id].append(Line(fault, fault.pk in ruled))
    points = words.terms(Checkpoint.objects.filter(pk__in=found))
    by_phase: dict[str, list[Point]] = defaultdict(list)
    for point in words.offered(points):
        by_phase[point.phase].append(Point(point, found[point.pk]))
    return [
        Shelf(phase, str(Phase(phase).label), by_phase[phase])
        for phase in Phase.values
        if phase in by_phase
    ]


def articles(stroke: str, words: Words, *, phase: str = "") -> list[Article]:
    """Rules at hand, in the order of a race. One query."""
    rules = _stroke(Rule.objects.current(), stroke)
    found = [rule for rule in rules if not phase or rule.phase == phase]
    return [article(rule, words) for rule in sorted(found, key=lambda rule: ORDER[rule.phase])]


def article(rule: Rule, words: Words) -> Article:
    sources = [source_of(each) for each in words.citations(rule)]
    # A rule that the club's book does not have is shown with those that do.
    own = sources[0] if sources and sources[0].book == words.book else None
    return Article(rule, view_words(rule.views), own, sources[1:] if own else sources)


def _stroke(rows: TermQuerySet[Any], stroke: str) -> TermQuerySet[Any]:
    return rows.for_stroke(stroke)


def _found(rows: TermQuerySet[Any], slug: str, words: Words) -> Any:  # noqa: ANN401
    """What was merged is shown by what it was merged into; closed terms stay readable."""
    ours = rows.filter(club=None) | rows.filter(club=words.club)
    row = ours.select_related("merged_into").filter(slug=slug).first()
    if row is None:
        raise Http404
    return row


def fault(slug: str, words: Words) -> Sheet:
    row: Fault = _found(Fault.objects.select_related("checkpoint"), slug, words)
    original = row.name
    row = words.spoken(row)
    rules = list(row.rules.current())
    point = words.spoken(row.checkpoint)
    return Sheet(
        term=row,
        original=original if original != row.name else "",
        checkpoint=point,
        faults=_lines(words, row.checkpoint, but=row),
        drills=_exercises(words, [row]),
        articles=[article(rule, words) for rule in rules],
        cautions=list(row.cautions.all()),
        views=view_words(row.views),
        published=list(row.published),
    )


def checkpoint(slug: str, words: Words) -> Sheet:
    row: Checkpoint = _found(Checkpoint.objects.all(), slug, words)
    original = row.name
    row = words.spoken(row)
    lines = _lines(words, row)
    return Sheet(
        term=row,
        original=original if original != row.name else "",
        checkpoint=row,
        faults=lines,
        drills=_exercises(words, [line.fault for line in lines]),
        articles=[],
        cautions=[],
        views=[],
        published=[],
    )


def _lines(words: Words, point: Checkpoint, *, but: Fault | None = None) -> list[Line]:
    rows = words.terms(Fault.objects.filter(checkpoint=point)).prefetch_related("rules")
    return [Line(row, bool(row.rules.all())) for row in words.offered(rows) if row != but]


def _exercises(words: Words, faults: Sequence[Fault]) -> list[Exercise]:
    """Three queries, however many faults there are."""
    rows = Fault.drills.through.objects.filter(fault__in=[row.pk for row in faults])
    named: dict[int, list[str]] = defaultdict(list)
    for holder, slug in rows.order_by("drill__order").values_list("fault_id", "drill__slug"):
        named[holder].append(slug)
    slugs = [slug for row in faults for slug in words.drills(row, named[row.pk])]
    drills = words.terms(Drill.objects.filter(slug__in=slugs))
    offered = words.offered(drills.prefetch_related("cautions", "things"))
    found = {row.slug: row for row in offered}
    return [exercise(found[slug]) for slug in dict.fromkeys(slugs) if slug in found]


def exercise(drill: Drill) -> Exercise:
    return Exercise(drill, list(drill.cautions.all()), list(drill.things.all()))


@dataclass(frozen=True)
class Card:
    """A drill on a page of its own, and what it mends."""

    exercise: Exercise
    original: str
    mends: list[Fault]

    @property
    def strokes(self) -> list[str]:
        return stroke_words(self.exercise.drill)


def drill(slug: str, words: Words) -> Card:
    row: Drill = _found(Drill.objects.prefetch_related("cautions", "things"), slug, words)
    original = row.name
    row = words.spoken(row)
    chosen = [key[1] for key, wording in words.said.items() if slug in wording.drills]
    rows = Fault.objects.filter(drills=row) | Fault.objects.filter(slug__in=chosen)
    mends = words.offered(words.terms(rows.distinct()))
    return Card(exercise(row), original if original != row.name else "", mends)


@dataclass(frozen=True)
class Ruling:
    """A rule on a page of its own, and the faults that break it."""

    article: Article
    breaks: list[Fault]

    @property
    def strokes(self) -> list[str]:
        return stroke_words(self.article.rule)


def rule(slug: str, words: Words) -> Ruling:
    row: Rule = _found(Rule.objects.all(), slug, words)
    breaks = words.offered(words.terms(Fault.objects.filter(rules=row)))
    return Ruling(article(row, words), breaks)
