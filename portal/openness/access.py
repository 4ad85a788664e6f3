"""Cases, film, people and mails as the club's recipients of concerns may see them, or 404."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.openness.models import Case
from portal.people.access import Actor, must
from portal.people.models import Club, EmergencyLook, Guardianship, Membership, Squad, User
from portal.recordings.models import Recording

Role = Membership.Role


def listener(actor: Actor) -> None:
    """Somebody who hears concerns, of whatever kind."""
    if not (actor.protects or actor.stands_in):
        raise Http404


def case_for(actor: Actor, code: UUID) -> Case:
    cases = Case.objects.visible_to(actor).select_related("club", "told_by__swimmer")
    return get_object_or_404(cases, code=code)


def overseen(actor: Actor) -> QuerySet[Club]:
    """The clubs all of whose film this person may look through."""
    if not actor.oversees:
        raise Http404
    return Club.objects.filter(id__in=actor.oversees)


def footage_for(actor: Actor, code: UUID) -> Recording:
    """That it is there; whether its pictures may be seen is asked of each copy."""
    kept = Recording.objects.kept().filter(session__squad__club__in=overseen(actor))
    return get_object_or_404(
        kept.select_related("session__squad__club", "session__pool", "filmed_by"), code=code
    )


def may_hold(actor: Actor, recording: Recording) -> bool:
    return recording.session.squad.club_id in actor.protects


def suspendable(actor: Actor) -> QuerySet[User]:
    """The people of the officer's clubs; for a second recipient, their welfare officers."""
    listener(actor)
    people = Q(pk__in=_tied_to(actor.protects, on=actor)) if actor.protects else Q(pk=None)
    officers = Membership.objects.filter(role=Role.WELFARE, club__in=actor.stands_in)
    return User.objects.filter(people | Q(pk__in=officers.on(actor.today).values("user")))


def person_for(actor: Actor, code: UUID) -> tuple[User, list[Club]]:
    """With the clubs out of which this actor may shut them."""
    person = get_object_or_404(suspendable(actor), code=code)
    return person, list(_clubs_to_shut(actor, person))


def _clubs_to_shut(actor: Actor, person: User) -> list[Club]:
    """No officer shuts out the second recipient, to whom concerns about the officer go."""
    roles = Membership.objects.filter(user=person).on(actor.today)
    as_second = roles.filter(role=Role.WELFARE, club__in=actor.stands_in)
    seconds = set(roles.filter(role=Role.SECOND_RECIPIENT).values_list("club", flat=True))
    as_officer = {pk for pk in actor.protects - seconds if person.pk in _tied_to({pk}, on=actor)}
    shut = as_officer | set(as_second.values_list("club", flat=True))
    return list(Club.objects.filter(pk__in=shut).order_by("name"))


def _tied_to(clubs: frozenset[int] | set[int], *, on: Actor) -> set[int]:
    """Ids of the people with a tie today, or who had one and are suspended. Five queries."""
    today = on.today
    dated = Guardianship.objects.filter(swimmer__club__in=clubs, starts__lte=today)
    return {
        *Membership.objects.filter(club__in=clubs).on(today).values_list("user", flat=True),
        *dated.exclude(ends__lte=today).values_list("guardian", flat=True),
        *User.objects.filter(swimmer__club__in=clubs).values_list("pk", flat=True),
        *Squad.objects.filter(club__in=clubs, second_adult__isnull=False).values_list(
            "second_adult", flat=True
        ),
        *User.objects.filter(suspensions__club__in=clubs, suspensions__lifted_at=None).values_list(
            "pk", flat=True
        ),
    }


def reads_record(actor: Actor) -> QuerySet[Club]:
    """Clubs whose record somebody reads: whole as the officer, in part as the head coach. A coach
    knows that there is one."""
    clubs = actor.protects | actor.heads
    must(bool(clubs) or not actor.is_staff)
    if not clubs:
        raise Http404
    return Club.objects.filter(id__in=clubs)


def protected(actor: Actor) -> QuerySet[Club]:
    if not actor.protects:
        raise Http404
    return Club.objects.filter(id__in=actor.protects)


def run_clubs(actor: Actor) -> QuerySet[Club]:
    if not actor.runs:
        raise Http404
    return Club.objects.filter(id__in=actor.runs)


def own_look(actor: Actor, code: UUID) -> EmergencyLook:
    looks = EmergencyLook.objects.filter(club__in=run_clubs(actor), user=actor.user)
    return get_object_or_404(looks.select_related("club"), code=code)
