"""People and clubs by their codes, as somebody may see them, or 404."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.people.models import Club, Squad, SquadPlace, Swimmer


def child_for(actor: Actor, code: UUID) -> Swimmer:
    """One's own, or oneself."""
    own = Swimmer.objects.filter(id__in=actor.family_ids).select_related("club", "user")
    return get_object_or_404(own, code=code)


def club_for(actor: Actor, code: UUID) -> Club:
    """Any club to which somebody is tied today."""
    tied = (
        Q(pk__in=actor.heads | actor.oversees | actor.stands_in | actor.runs)
        | Q(squads__in=actor.coaches | actor.assists | actor.seconds)
        | Q(swimmers__in=actor.family_ids)
    )
    return get_object_or_404(Club.objects.filter(tied).distinct(), code=code)


def headed_club_for(actor: Actor, code: UUID) -> Club:
    return get_object_or_404(Club, pk__in=actor.heads, code=code)


def squads_of(actor: Actor) -> QuerySet[Squad]:
    """Those that somebody works with."""
    staffed = Q(id__in=actor.coaches | actor.assists) | Q(club__in=actor.heads)
    return Squad.objects.filter(staffed).select_related("club")


def squad_for(actor: Actor, code: UUID) -> Squad:
    return get_object_or_404(squads_of(actor), code=code)


def swimmer_for(actor: Actor, code: UUID) -> tuple[Swimmer, Squad]:
    """A swimmer of today's squads, with the squad through which they are seen; that which
    somebody leads goes first."""
    places = SquadPlace.objects.on(actor.today).filter(
        actor.staff_filter("squad"), swimmer__code=code
    )
    found = list(places.select_related("swimmer__club", "squad__club"))
    if not found:
        raise Http404
    place = max(found, key=lambda each: actor.leads(each.squad))
    return place.swimmer, place.squad
