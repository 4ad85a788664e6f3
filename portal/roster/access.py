"""Squads, swimmers and ties as the people of a club may see them, or 404.

Staff see who swims in their squads of today. Only the head coach sees who has left, who is in no
squad, and what is shut; and only the head coach changes anything: that is the views' question.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.people.models import (
    Guardianship,
    GuardianshipQuerySet,
    SquadPlace,
    Swimmer,
)


def swimmer_for(actor: Actor, code: UUID, *, on: date) -> Swimmer:
    swimmers = Swimmer.objects.select_related("club", "user")
    return get_object_or_404(swimmers.filter(_seen(actor, on=on)), code=code)


def tie_for(actor: Actor, code: UUID, *, on: date) -> Guardianship:
    """Whoever sees the swimmer as staff sees the tie, whatever has become of it."""
    swimmers = Swimmer.objects.filter(_seen(actor, on=on))
    return get_object_or_404(_ties().filter(swimmer__in=swimmers), code=code)


def own_tie_for(actor: Actor, code: UUID, *, on: date) -> Guardianship | None:
    """A guardian's, as long as it holds."""
    own = _ties().on(on).filter(guardian=actor.user, swimmer__in=actor.guards)
    return own.filter(code=code).first()


def _ties() -> GuardianshipQuerySet:
    return Guardianship.objects.select_related("swimmer__club", "guardian")


def child_for(actor: Actor, code: UUID) -> Swimmer:
    """For the guardians."""
    swimmers = Swimmer.objects.filter(id__in=actor.guards).select_related("club", "user")
    return get_object_or_404(swimmers, code=code)


def heads(actor: Actor, swimmer: Swimmer) -> bool:
    return swimmer.club_id in actor.heads


def _seen(actor: Actor, *, on: date) -> Q:
    here = SquadPlace.objects.on(on).filter(
        swimmer=OuterRef("pk"), squad__in=actor.coaches | actor.assists
    )
    has_not_left = Q(left_on=None) | Q(left_on__gt=on)
    return Q(club__in=actor.heads) | has_not_left & Q(Exists(here))
