"""The squad's words that fit a clip: what a comment may be tagged with, and what to swim."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, TypeVar

from django.db import models
from django.db.models import Q, Value
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from portal.people.access import Actor
from portal.people.models import Club, Squad
from portal.people.reaching import squads_of
from portal.technique import wording
from portal.technique.citing import Citation, cited
from portal.technique.models import (
    Checkpoint,
    Drill,
    Edition,
    Fault,
    Stroke,
    TermQuerySet,
)
from portal.technique.viewing import view_words

TermT = TypeVar("TermT", bound=models.Model)
KeyT = TypeVar("KeyT")
ValueT = TypeVar("ValueT")
Term = dict[str, Any]
Told = dict[str, Any]

# Part of the tag: raise it when what the words look like changes, and browsers ask for them anew.
SHAPE = 5


def fitting(
    terms: TermQuerySet[TermT], stroke: str, club: Club | None = None
) -> TermQuerySet[TermT]:
    """Terms of the stroke, with the club's own; a medley has all four strokes, hence all terms."""
    current = terms.of_club(club)
    return current if stroke == Stroke.MEDLEY else current.for_stroke(stroke)


def checkpoints(stroke: str, club: Club | None = None) -> TermQuerySet[Checkpoint]:
    return fitting(Checkpoint.objects.all(), stroke, club)


def faults(stroke: str, club: Club | None = None) -> TermQuerySet[Fault]:
    return fitting(Fault.objects.all(), stroke, club)


def squad_at_hand(actor: Actor, code: str) -> Squad | None:
    """Of those that somebody works with; without one the words are everybody's."""
    return next((squad for squad in squads_of(actor) if str(squad.code) == code), None)


def tag(stroke: str, squad: Squad | None = None, *, on: date | None = None) -> str | None:
    """Names what `as_json` gives, whichever process is asked; None before the first load."""
    edition = Edition.objects.first()
    if edition is None:
        return None
    words = wording.Words.of(squad.club if squad else None)
    squads = f"{squad.pk}-{on:%Y-%m}-" if squad and on else ""
    return f"{SHAPE}-{edition.stamp.hex}-{words.stamp}-{squads}{stroke}-{get_language()}"


def as_json(stroke: str, squad: Squad | None = None, *, on: date | None = None) -> Told:
    """All that the finder and the drill list of the slip need, in the words of the squad's club.

    At most eleven queries, whatever the size. `month` are the slugs on which the squad works.
    """
    club = squad.club if squad else None
    words = wording.Words.of(club)
    corrections = words.offered(faults(stroke, club).select_related("checkpoint"))
    drills = words.offered(words.terms(Drill.objects.all()))
    swum, broken, cautions = _drills_of_faults(), _rules_of_faults(), _cautions()
    slugs = {drill.pk: drill.slug for drill in drills}
    first = {
        fault.pk: words.drills(fault, [slugs[pk] for pk in swum[fault.pk] if pk in slugs])
        for fault in corrections
    }
    known = set(slugs.values())
    named = {slug for offered in first.values() for slug in offered}
    month = wording.month_of(squad, on) if squad and on else []
    return {
        "checkpoints": [
            _term(point) | {"see": point.good} for point in words.offered(checkpoints(stroke, club))
        ],
        "faults": [
            _term(fault)
            | {
                "see": fault.see,
                "also": fault.also,
                "cue": fault.cue,
                "cueYoung": fault.cue_young,
                "point": words.spoken(fault.checkpoint).name,
                "severity": fault.severity,
                "drills": [slug for slug in first[fault.pk] if slug in known],
                "rules": [
                    _rule(name, words.sorted(citations), views)
                    for name, citations, views in broken[fault.pk]
                ],
                "cautions": cautions["fault", fault.pk],
            }
            for fault in corrections
        ],
        "drills": [
            _term(drill) | {"dose": drill.dose, "cautions": cautions["drill", drill.pk]}
            for drill in drills
            if drill.slug in named or _swims(drill, stroke)
        ],
        "unoffered": [*_unoffered(Checkpoint, words), *_unoffered(Fault, words)],
        "stroke": stroke,
        "month": [fault.slug for fault in corrections if fault.checkpoint.slug in month] + month,
    }


def _unoffered(model: type[Checkpoint] | type[Fault], words: wording.Words) -> list[Term]:
    """Retired, or left out by the club: what was said with them still has their name."""
    hidden = [slug for (_table, slug), each in words.said.items() if each.is_hidden]
    rows: Any = model.objects.filter(Q(club=None) | Q(club=words.club))
    gone = rows.filter(Q(is_retired=True) | Q(slug__in=hidden))
    return [{"slug": row.slug, "name": words.spoken(row).name} for row in gone]


def _drills_of_faults() -> dict[int, list[int]]:
    rows = Fault.drills.through.objects.order_by("drill__order")
    return _gathered(rows.values_list("fault", "drill"))


def _rules_of_faults() -> dict[int, list[tuple[str, list[Citation], str]]]:
    """Names with their citations and the views on which they are sure."""
    rows = Fault.rules.through.objects.order_by("rule__order")
    found = rows.values_list("fault", "rule__name", "rule__citations", "rule__views")
    return _gathered((fault, tuple(rest)) for fault, *rest in found)


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
        "phase": term.phase_word,
        "strokes": term.stroke_slugs,
    }


def _rule(name: str, citations: Sequence[Citation], views: str) -> str:
    """The rule's name with all that we know of where it stands in the first book, and from where
    one can be sure."""
    said = ", ".join([name, *(cited(first) for first in citations[:1])])
    if not views:
        return said
    where = {"rule": said, "views": "; ".join(view_words(views))}
    return _("%(rule)s. To be sure, film it: %(views)s") % where


def _swims(drill: Drill, stroke: str) -> bool:
    return stroke == Stroke.MEDLEY or not {stroke, "any"}.isdisjoint(drill.stroke_slugs)
