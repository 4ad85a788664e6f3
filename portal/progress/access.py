"""Squads and swimmers as their staff follow them, or 404.

Whoever works with a swimmer's squad of today reads all that was published of them. Staff of a
squad that a swimmer has left still read what was seen in that squad's own sessions, no more; of
those who have left the club only the head coach reads.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.people.models import SquadPlace, Swimmer
from portal.review.models import Review


def swimmer_for(actor: Actor, code: UUID, *, on: date) -> Swimmer:
    """Who swims there today is looked for first: of most, nobody has to ask for more."""
    swimmers = Swimmer.objects.select_related("club")
    here = swimmers.filter(id__in=_places(actor, on=on).values("swimmer"), code=code).first()
    reviewed = Review.objects.published().filter(_of_squads(actor))
    left = swimmers.filter(id__in=reviewed.values("swimmer"))
    return here or get_object_or_404(left, code=code)


def reviews_of(swimmer: Swimmer, *, to: Actor, on: date) -> QuerySet[Review]:
    """The published reviews of this swimmer that `to` may follow."""
    reviews = Review.objects.published().filter(swimmer=swimmer)
    if _places(to, on=on).filter(swimmer=swimmer).exists():
        return reviews
    return reviews.filter(_of_squads(to))


def _of_squads(actor: Actor) -> Q:
    return actor.staff_filter("session__squad", swimmer="swimmer")


def _places(actor: Actor, *, on: date) -> QuerySet[SquadPlace]:
    return SquadPlace.objects.on(on).filter(actor.staff_filter("squad"))
