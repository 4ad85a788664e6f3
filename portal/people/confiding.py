"""Whom somebody may tell what worries them."""

from __future__ import annotations

from datetime import date

from django.db.models import Q, QuerySet

from portal.people.access import Actor
from portal.people.models import Club, Guardianship, Membership


def officers_for(actor: Actor, *, on: date) -> QuerySet[Membership]:
    """The welfare officers of the clubs to which this person is tied on that day."""
    own = Membership.objects.filter(user=actor.user).on(on).values("club")
    children = Guardianship.objects.filter(guardian=actor.user).on(on).values("swimmer__club")
    clubs = Club.objects.filter(
        Q(pk__in=own)
        | Q(pk__in=children)
        | Q(swimmers__user=actor.user)
        | Q(squads__second_adult=actor.user)
    )
    officers = Membership.objects.filter(role=Membership.Role.WELFARE, club__in=clubs).on(on)
    return (
        officers.filter(user__is_active=True)
        .select_related("user", "club")
        .order_by("club__name", "user__name")
    )
