"""The squad's words that fit a clip: what a comment may be tagged with, and what to swim."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from django.db import models
from django.db.models import Value
from django.utils.translation import get_language

from portal.technique.citing import Citation, cited
from portal.technique.models import (
    Checkpoint,
    Drill,
    Edition,
    Fault,
    Phase,
    Stroke,
    TermQuerySet,
)

TermT = TypeVar("TermT", bound=models.Model)
KeyT = TypeVar("KeyT")
ValueT = TypeVar("ValueT")
Words = dict[str, list[dict[str, Any]]]

# Part of the tag: raise it when what the words look like changes, and browsers ask for them anew.
SHAPE = 2


def fitting(terms: TermQuerySet[TermT], stroke: str) -> TermQuerySet[TermT]:
    """Current terms of the stroke; a medley has all four strokes, hence all terms."""
    return terms.current() if stroke == Stroke.MEDLEY else terms.current().for_stroke(stroke)


def checkpoints(stroke: str) -> TermQuerySet[Checkpoint]:
    return fitting(Checkpoint.objects.all(), stroke)


def faults(stroke: str) -> TermQuerySet[Fault]:
    return fitting(Fault.objects.all(), stroke)


def tag(stroke: str) -> str | None:
    """Names what `as_json` gives, whichever process is asked; None before the first load."""
    edition = Edition.objects.first()
    return f"{SHAPE}-{edition.stamp.hex}-{stroke}-{get_language()}" if edition else None


def as_json(stroke: str) -> Words:
    """All that the finder and the drill list of the slip need. Six queries, whatever the size."""
    corrections, drills = list(faults(stroke)), list(Drill.objects.current())
    swum, broken, cautions = _drills_of_faults(), _rules_of_faults(), _cautions()
    slugs = {drill.pk: drill.slug for drill in drills}
    named = {pk for fault in corrections for pk in swum[fault.pk]}
    return {
        "checkpoints": [_term(point) | {"see": point.good} for point in checkpoints(stroke)],
        "faults": [
            _term(fault)
            | {
                "see": fault.see,
                "also": fault.also,
                "cue": fault.cue,
                "cueYoung": fault.cue_young,
                "drills": [slugs[pk] for pk in swum[fault.pk] if pk in slugs],
                "rules": [_rule(name, citations) for name, citations in broken[fault.pk]],
                "cautions": cautions["fault", fault.pk],
            }
            for fault in corrections
        ],
        "drills": [
            _term(drill) | {"dose": drill.dose, "cautions": cautions["drill", drill.pk]}
            for drill in drills
            if drill.pk in named or _swims(drill, stroke)
        ],
    }


def _drills_of_faults() -> dict[int, list[int]]:
    rows = Fault.drills.through.objects.order_by("drill__order")
    return _gathered(rows.values_list("fault", "drill"))


def _rules_of_faults() -> dict[int, list[tuple[str, list[Citation]]]]:
    """Names with their citations."""
    rows = Fault.rules.through.objects.order_by("rule__order")
    found = rows.values_list("fault", "rule__name", "rule__citations")
    return _gathered((fault, (name, citations)) for fault, name, citations in found)


def _cautions() -> dict[tuple[str, int], list[str]]:
    """Texts by what names them, a fault or a drill."""
    of_faults = Fault.cautions.through.objects.order_by()
    of_drills = Drill.cautions.through.objects.order_by()
    rows = of_faults.values_list(Value("fault"), "fault", "caution", "caution__text").union(
        of_drills.values_list(Value("drill"), "drill", "caution", "caution__text"), all=True
    )
    return _gathered(((kind, holder), text) for kind, holder, _caution, text in sorted(rows))


def _gathered(pairs: Iterable[tuple[KeyT, ValueT]]) -> dict[KeyT, list[ValueT]]:
    found: dict[KeyT, list[ValueT]] = defaultdict(list)
    for holder, held in pairs:
        found[holder].append(held)
    return found


def _term(term: Checkpoint | Fault | Drill) -> dict[str, Any]:
    return {
        "slug": term.slug,
        "name": term.name,
        "phase": str(Phase(term.phase).label) if term.phase in Phase.values else term.phase,
    }


def _rule(name: str, citations: Sequence[Citation]) -> str:
    """The rule's name with all that we know of where it stands in the first book."""
    return ", ".join([name, *(cited(first) for first in citations[:1])])


def _swims(drill: Drill, stroke: str) -> bool:
    return stroke == Stroke.MEDLEY or not {stroke, "any"}.isdisjoint(drill.stroke_slugs)
