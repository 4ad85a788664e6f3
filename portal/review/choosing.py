"""The squad's words that fit a clip: what a comment may be tagged with, and what to swim."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from django.db import models

from portal.technique.models import (
    Caution,
    Checkpoint,
    Drill,
    Fault,
    Phase,
    Stroke,
    TermQuerySet,
)

TermT = TypeVar("TermT", bound=models.Model)


def fitting(terms: TermQuerySet[TermT], stroke: str) -> TermQuerySet[TermT]:
    """Current terms of the stroke; a medley has all four strokes, hence all terms."""
    return terms.current() if stroke == Stroke.MEDLEY else terms.current().for_stroke(stroke)


def checkpoints(stroke: str) -> TermQuerySet[Checkpoint]:
    return fitting(Checkpoint.objects.all(), stroke)


def faults(stroke: str) -> TermQuerySet[Fault]:
    return fitting(Fault.objects.all(), stroke)


def as_json(stroke: str) -> dict[str, list[dict[str, Any]]]:
    """All that the finder and the drill list of the slip need. Seven queries, whatever the size."""
    drills = list(Drill.objects.current().prefetch_related("cautions"))
    corrections = faults(stroke).prefetch_related("drills", "rules", "cautions")
    named = {drill.pk for fault in corrections for drill in fault.drills.all()}
    return {
        "checkpoints": [_term(point) | {"see": point.good} for point in checkpoints(stroke)],
        "faults": [_fault(fault) for fault in corrections],
        "drills": [
            _term(drill) | {"dose": drill.dose, "cautions": _texts(drill.cautions.all())}
            for drill in drills
            if drill.pk in named or _swims(drill, stroke)
        ],
    }


def _term(term: Checkpoint | Fault | Drill) -> dict[str, Any]:
    return {
        "slug": term.slug,
        "name": term.name,
        "phase": str(Phase(term.phase).label) if term.phase in Phase.values else term.phase,
    }


def _fault(fault: Fault) -> dict[str, Any]:
    return _term(fault) | {
        "see": fault.see,
        "cue": fault.cue,
        "cueYoung": fault.cue_young,
        "drills": [drill.slug for drill in fault.drills.all() if not drill.is_retired],
        "rules": [_rule(rule.name, rule.citations) for rule in fault.rules.all()],
        "cautions": _texts(fault.cautions.all()),
    }


def _rule(name: str, citations: Iterable[dict[str, str]]) -> str:
    """The rule's name with its book, article and edition, as the files state them."""
    first = next(iter(citations), {})
    where = [first[key] for key in ("book", "article", "edition") if first.get(key)]
    return ", ".join([name, *where])


def _texts(cautions: Iterable[Caution]) -> list[str]:
    return [caution.text for caution in cautions]


def _swims(drill: Drill, stroke: str) -> bool:
    return stroke == Stroke.MEDLEY or not {stroke, "any"}.isdisjoint(drill.stroke_slugs)
