"""Squads, swimmers and ties as the people of a club may see them, or 404.

Staff see who swims in their squads of today. Only the head coach sees who has left, who is in no
squad, and what is shut; and only the head coach changes anything: that is the views' question.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.people.models import Guardianship, Squad, SquadPlace, Swimmer


def squads_of(actor: Actor) -> QuerySet[Squad]:
    squads = Squad.objects.filter(Q(club__in=actor.heads) | Q(id__in=actor.coaches | actor.assists))
    return squads.select_related("club")


def squad_for(actor: Actor, code: UUID) -> Squad:
    return get_object_or_404(squads_of(actor), code=code)


def swimmer_for(actor: Actor, code: UUID, *, on: date) -> Swimmer:
    swimmers = Swimmer.objects.select_related("club", "user")
    return get_object_or_404(swimmers.filter(_seen(actor, on=on)), code=code)


def tie_for(actor: Actor, code: UUID, *, on: date) -> Guardianship:
    """Whoever sees the swimmer sees the tie; a guardian only their own, as long as it holds."""
    swimmers = Swimmer.objects.filter(_seen(actor, on=on))
    own = Guardianship.objects.on(on).filter(guardian=actor.user, swimmer__in=actor.guards)
    ties = Guardianship.objects.filter(Q(swimmer__in=swimmers) | Q(pk__in=own.values("pk")))
    return get_object_or_404(ties.select_related("swimmer__club", "guardian"), code=code)


def granted_tie_for(actor: Actor, code: UUID) -> Guardianship:
    """For the swimmer whom it is about."""
    ties = Guardianship.objects.filter(swimmer__in=actor.is_swimmer, ends=None, barred_from=None)
    return get_object_or_404(ties.select_related("swimmer__club", "guardian"), code=code)


def child_for(actor: Actor, code: UUID) -> Swimmer:
    """For the family."""
    swimmers = Swimmer.objects.filter(id__in=actor.family_ids).select_related("club", "user")
    return get_object_or_404(swimmers, code=code)


def heads(actor: Actor, swimmer: Swimmer) -> bool:
    return swimmer.club_id in actor.heads


def _seen(actor: Actor, *, on: date) -> Q:
    here = SquadPlace.objects.on(on).filter(
        swimmer=OuterRef("pk"), squad__in=actor.coaches | actor.assists
    )
    has_not_left = Q(left_on=None) | Q(left_on__gt=on)
    return Q(club__in=actor.heads) | has_not_left & Q(Exists(here))
