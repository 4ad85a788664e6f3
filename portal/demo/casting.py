"""The demo club and its people, all in one transaction."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction

from portal.demo import script
from portal.demo.script import Adult, Answers, Child
from portal.people import consenting
from portal.people.models import (
    Club,
    Consent,
    Course,
    Guardianship,
    Membership,
    Season,
    Squad,
    SquadPlace,
    Swimmer,
    User,
)
from portal.recordings.models import Pool

# How long before the day of building everybody had joined and answered.
SINCE = timedelta(days=75)
BIRTHDAY = timedelta(days=120)
Purpose = Consent.Purpose
REFUSED = {
    Answers.ALL_YES: set[Purpose](),
    Answers.NO_MAIL_STILLS: {Purpose.MAIL_STILLS},
    Answers.NO_FILM: set(Purpose),
}


def assemble(*, at: datetime) -> Club:
    """The demo club, made if there is none yet."""
    with transaction.atomic():
        return Club.objects.filter(is_demo=True).first() or _make(at=at)


def _make(*, at: datetime) -> Club:
    joined = (at - SINCE).date()
    club = Club.objects.create(
        name=script.CLUB,
        course=Course.SHORT,
        is_demo=True,
        policy=script.POLICY,
        policy_edition=script.POLICY_EDITION,
        policy_reviewed_on=joined,
    )
    for ago in (0, 1):
        _season(club, at.date(), years_ago=ago)
    for name, course in script.POOLS.items():
        Pool.objects.create(club=club, name=name, course=course)
    users = User.objects
    adults = {adult: users.create_user(adult.address, name=adult.name) for adult in script.STAFF}
    for squad, adult in script.SECOND_ADULTS.items():
        Squad.objects.create(club=club, name=squad, second_adult=adults[adult])
    for adult, user in adults.items():
        _give_role(adult, user, club, since=joined)
    for child in script.SWIMMERS:
        _enrol(child, club, today=at.date(), since=joined, answered_at=at - SINCE)
    return club


def _season(club: Club, today: date, *, years_ago: int) -> None:
    """August to July, as one swims in the north."""
    year = today.year - (today.month < 8) - years_ago
    Season.objects.create(
        club=club,
        name=f"{year}/{(year + 1) % 100:02}",
        starts=date(year, 8, 1),
        ends=date(year + 1, 7, 31),
    )


def _give_role(adult: Adult, user: User, club: Club, *, since: date) -> None:
    if adult.role is None:
        return
    squads: list[Squad | None] = list(Squad.objects.filter(club=club, name__in=adult.squads))
    for squad in squads or [None]:
        Membership.objects.create(user=user, club=club, squad=squad, role=adult.role, starts=since)


def _enrol(child: Child, club: Club, *, today: date, since: date, answered_at: datetime) -> None:
    first, last = child.name.split(" ", 1)
    born = today.replace(day=1, year=today.year - child.age) - BIRTHDAY
    swimmer = Swimmer.objects.create(
        club=club,
        first_name=first,
        last_name=last,
        born=born,
        user=_family_member(child.name) if child.has_account else None,
    )
    squad = Squad.objects.get(club=club, name=child.squad)
    SquadPlace.objects.create(swimmer=swimmer, squad=squad, starts=since)
    for name, answers in child.guardians.items():
        guardian = _family_member(name)
        Guardianship.objects.create(guardian=guardian, swimmer=swimmer, starts=since)
        asked = [each for each in Purpose if each != Purpose.SIGN_IN or child.has_account]
        for purpose in asked:
            is_given = purpose not in REFUSED[answers]
            consenting.answer(swimmer, purpose, is_given=is_given, by=guardian, at=answered_at)


def _family_member(name: str) -> User:
    """One account for a person, however many children they have."""
    return User.objects.of_address(script.address_of(name, place="family"), name=name)
