"""Whom somebody may tell what worries them, and who hears it.

Whoever coaches in a club, or runs its portal, hears of no concern there, whatever else they are:
it could be about their own work.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet

from portal.people.access import Actor
from portal.people.models import Club, Guardianship, Membership, Squad, Suspension

Role = Membership.Role
Clubs = QuerySet[Club] | Collection[Club]
NEVER = (Role.HEAD_COACH, Role.COACH, Role.ASSISTANT, Role.VOLUNTEER)


def clubs_of(actor: Actor, *, on: date) -> QuerySet[Club]:
    """To which this person is tied on that day; those who are suspended may still tell."""
    own = Membership.objects.filter(user=actor.user).on(on).values("club")
    children = Guardianship.objects.filter(guardian=actor.user).on(on).values("swimmer__club")
    squads = Squad.objects.filter(second_adult=actor.user).values("club")
    return Club.objects.filter(
        Q(pk__in=own) | Q(pk__in=children) | Q(swimmers__user=actor.user) | Q(pk__in=squads)
    ).distinct()


def officers_for(actor: Actor, *, on: date) -> QuerySet[Membership]:
    """The welfare officers of the clubs to which this person is tied on that day."""
    return officers_of(clubs_of(actor, on=on), on=on)


def officers_of(clubs: Clubs, *, on: date) -> QuerySet[Membership]:
    officers = _listening(Role.WELFARE, on=on).filter(club__in=clubs)
    return officers.select_related("user", "club").order_by("club__name", "user__name")


def seconds_of(clubs: Clubs, *, on: date) -> QuerySet[Membership]:
    """Second recipients, for a concern about the welfare officer: who is one is none here."""
    same = {"user": OuterRef("user"), "club": OuterRef("club")}
    seconds = _listening(Role.SECOND_RECIPIENT, on=on).filter(club__in=clubs)
    return (
        seconds.exclude(Exists(Membership.objects.filter(**same, role=Role.WELFARE).on(on)))
        .select_related("user", "club")
        .order_by("club__name", "user__name")
    )


def hears(actor: Actor, *, role: Role) -> QuerySet[Club]:
    """The clubs whose concerns this person hears, as officer or as second recipient."""
    clubs = actor.protects if role == Role.WELFARE else actor.stands_in - actor.protects
    coached = Squad.objects.filter(id__in=actor.coaches | actor.assists).values("club")
    return Club.objects.filter(id__in=clubs - actor.heads - actor.runs).exclude(id__in=coached)


def _listening(role: Role, *, on: date) -> QuerySet[Membership]:
    """Not those who cannot come in, or who may not hear it."""
    same = {"user": OuterRef("user"), "club": OuterRef("club")}
    return (
        Membership.objects.filter(role=role, user__is_active=True)
        .on(on)
        .exclude(Exists(Suspension.objects.filter(**same, lifted_at=None)))
        .exclude(Exists(Membership.objects.filter(**same, role__in=NEVER).on(on)))
    )
