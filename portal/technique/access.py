"""Whose words somebody reads, and whose they may change."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor, must
from portal.people.models import Club, Squad


def clubs_of(actor: Actor) -> QuerySet[Club]:
    """All to which somebody is tied today, families and officers among them."""
    tied = (
        Q(pk__in=actor.heads | actor.oversees | actor.stands_in | actor.runs)
        | Q(squads__in=actor.coaches | actor.assists | actor.seconds)
        | Q(swimmers__in=actor.family_ids)
    )
    return Club.objects.filter(tied).distinct().order_by("name", "pk")


def club_at_hand(actor: Actor, asked: str = "") -> Club:
    """The one whose code is `asked`, else the first by name; the catalogue is public to a club."""
    clubs = list(clubs_of(actor))
    if not clubs:
        raise Http404
    return next((club for club in clubs if str(club.code) == asked), clubs[0])


def may_change(actor: Actor, club: Club) -> bool:
    """Head coach and coaches: an assistant takes the words as they are."""
    return club.pk in actor.heads or club.squads.filter(pk__in=actor.coaches).exists()


def club_to_change(actor: Actor, asked: str = "") -> Club:
    if not actor.is_staff:
        raise Http404
    club = club_at_hand(actor, asked)
    must(may_change(actor, club))
    return club


def squad_to_lead(actor: Actor, code: UUID) -> Squad:
    """For its list of the month; assistants see that there is one."""
    staffed = Q(pk__in=actor.coaches | actor.assists) | Q(club__in=actor.heads)
    squad = get_object_or_404(Squad.objects.select_related("club").filter(staffed), code=code)
    must(actor.leads(squad))
    return squad
