"""One cast for every test: a club with two squads, a family, and people who must stay outside."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.test import Client

from portal.people.models import (
    Club,
    Consent,
    Guardianship,
    Membership,
    Season,
    Squad,
    SquadPlace,
    Swimmer,
    User,
)
from portal.recordings.models import Pool, Session

DAY = date(2026, 11, 19)
NOW = datetime(2026, 11, 19, 18, 30, tzinfo=UTC)
LONG_AGO = date(2020, 1, 1)
Role = Membership.Role


@dataclass
class Cast:
    club: Club
    squad: Squad
    other_squad: Squad
    pool: Pool
    session: Session
    head_coach: User
    coach: User
    assistant: User
    other_coach: User
    """Coach of another squad of the same club."""
    welfare: User
    second_adult: User
    swimmer: Swimmer
    """Ines, with an account of her own."""
    swimmer_user: User
    mate: Swimmer
    mate_user: User
    guardian: User
    co_guardian: User
    """Ines's other parent, in another household."""
    former_guardian: User
    mate_guardian: User
    second_recipient: User
    """Of concerns, when they are about the welfare officer."""
    volunteer: User
    """Runs the portal and sees no footage."""
    rival_coach: User
    """Head coach of another club."""
    stranger: User

    def person(self, name: str) -> User | None:
        """By the name of a column in the access table; None for `anonymous`."""
        return None if name == "anonymous" else getattr(self, name)


def make_user(name: str) -> User:
    address = name.lower().replace(" ", ".") + "@example.org"
    return User.objects.create_user(address, name=name, password="paper boats in the gutter")


def signed_in(user: User | None, **options: Any) -> Client:
    """Nobody stays outside."""
    client = Client(**options)
    if user:
        client.force_login(user)
    return client


def make_swimmer(club: Club, squad: Squad, name: str, *, born: date) -> Swimmer:
    first, last = name.split(" ", 1)
    swimmer = Swimmer.objects.create(club=club, first_name=first, last_name=last, born=born)
    SquadPlace.objects.create(swimmer=swimmer, squad=squad, starts=LONG_AGO)
    return swimmer


def join(user: User, club: Club, role: Role, squad: Squad | None = None) -> None:
    Membership.objects.create(user=user, club=club, squad=squad, role=role, starts=LONG_AGO)


def consent_to_all(swimmer: Swimmer, by: User) -> None:
    for purpose in Consent.Purpose:
        Consent.objects.create(
            swimmer=swimmer, purpose=purpose, is_given=True, answered_by=by, at=NOW
        )


def assemble() -> Cast:
    club = Club.objects.create(name="Otterbrook", zone="Europe/London", course="25 m")
    Season.objects.create(
        club=club, name="2026/27", starts=date(2026, 9, 1), ends=date(2027, 7, 31)
    )
    second_adult = make_user("Tom Varga")
    squad = Squad.objects.create(club=club, name="Juniors", second_adult=second_adult)
    other_squad = Squad.objects.create(club=club, name="Seniors", second_adult=second_adult)
    pool = Pool.objects.create(club=club, name="Quay Street", course="25 m")
    coach = make_user("Marta Lind")
    swimmer = make_swimmer(club, squad, "Ines Falk", born=date(2012, 5, 3))
    mate = make_swimmer(club, squad, "Noor Haan", born=date(2012, 8, 9))
    people = {
        "head_coach": make_user("Greta Holm"),
        "assistant": make_user("Dov Merrin"),
        "other_coach": make_user("Piet Sand"),
        "welfare": make_user("Wanda Okoro"),
        "swimmer_user": make_user("Ines Falk"),
        "mate_user": make_user("Noor Haan"),
        "guardian": make_user("Ada Falk"),
        "co_guardian": make_user("Bela Korda"),
        "former_guardian": make_user("Curt Blum"),
        "mate_guardian": make_user("Samir Haan"),
        "second_recipient": make_user("Nils Aske"),
        "volunteer": make_user("Vera Nagy"),
        "rival_coach": make_user("Rolf Stein"),
        "stranger": make_user("Sid Nobody"),
    }
    join(people["head_coach"], club, Role.HEAD_COACH)
    join(coach, club, Role.COACH, squad)
    join(people["assistant"], club, Role.ASSISTANT, squad)
    join(people["other_coach"], club, Role.COACH, other_squad)
    join(people["welfare"], club, Role.WELFARE)
    join(people["second_recipient"], club, Role.SECOND_RECIPIENT)
    join(people["volunteer"], club, Role.VOLUNTEER)
    rivals = Club.objects.create(name="Northmere", zone="Europe/London", course="25 m")
    join(people["rival_coach"], rivals, Role.HEAD_COACH)
    for child, user in [(swimmer, people["swimmer_user"]), (mate, people["mate_user"])]:
        child.user = user
        child.save(update_fields=["user"])
    for name, child in [("guardian", swimmer), ("co_guardian", swimmer), ("mate_guardian", mate)]:
        Guardianship.objects.create(guardian=people[name], swimmer=child, starts=LONG_AGO)
    Guardianship.objects.create(
        guardian=people["former_guardian"], swimmer=swimmer, starts=LONG_AGO, ends=date(2026, 1, 1)
    )
    consent_to_all(swimmer, people["guardian"])
    consent_to_all(mate, people["mate_guardian"])
    session = Session.objects.create(
        squad=squad,
        pool=pool,
        course=pool.course,
        date=DAY,
        theme="breaststroke kick",
        created_by=coach,
        created_at=NOW,
    )
    return Cast(
        club=club,
        squad=squad,
        other_squad=other_squad,
        pool=pool,
        session=session,
        coach=coach,
        second_adult=second_adult,
        swimmer=swimmer,
        mate=mate,
        **people,
    )
