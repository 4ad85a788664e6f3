"""What a swimmer takes to the pool: the drills of the newest notes, the focus first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString

from portal.items.models import Verdict
from portal.kit.templatetags.look import sign
from portal.notes import wording
from portal.notes.reading import SIGNS
from portal.notes.wording import DrillWords, Words
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.review.models import Comment, Review

SPAN = timedelta(days=7)
"""Up to the newest session with notes."""
MOST = 3
"""More do not fit on one screen, nor into one head."""


@dataclass(frozen=True)
class Card:
    """One drill in big type."""

    drill: DrillWords
    dose: str
    think: str
    verdict: Verdict
    cautions: list[str]

    @property
    def sign(self) -> SafeString:
        return sign(SIGNS[self.verdict], 22)


@dataclass(frozen=True)
class Week:
    day: date | None
    """Of the newest session with notes."""
    cards: list[Card]
    more: int
    """Drills that stand in the notes only."""


def week(swimmer: Swimmer, *, reader: Actor) -> Week:
    """Four queries, and what the words cost."""
    notes = Review.objects.published().visible_to(reader).filter(swimmer=swimmer)
    newest = notes.order_by("-session__date").values_list("session__date", flat=True).first()
    if newest is None:
        return Week(None, [], 0)
    lately = notes.filter(session__date__gt=newest - SPAN)
    foci = set(lately.values_list("focus", flat=True))
    said = Comment.objects.kept().filter(reviews__in=lately, drill__isnull=False)
    rows = sorted(
        said.select_related("session").distinct(),
        key=lambda one: (-one.session.date.toordinal(), one.pk not in foci, one.frame or 0, one.pk),
    )
    cards = _cards(rows, wording.words(swimmer.club_id), age=swimmer.age(newest))
    return Week(newest, cards[:MOST], max(0, len(cards) - MOST))


def _cards(comments: Iterable[Comment], words: Words, *, age: int) -> list[Card]:
    """Each drill once, as it was last given."""
    found: dict[int, Card] = {}
    for comment in comments:
        if comment.drill_id is None or comment.drill_id in found:
            continue
        drill = words.drills[comment.drill_id]
        fault = words.faults[comment.fault_id] if comment.fault_id else None
        cautions = [*drill.cautions, *(fault.cautions if fault else ())]
        found[comment.drill_id] = Card(
            drill=drill,
            dose=comment.dose or drill.dose,
            think=wording.cue_for(comment.cue, fault, age=age),
            verdict=Verdict(comment.verdict),
            cautions=list(dict.fromkeys(cautions)),
        )
    return list(found.values())
