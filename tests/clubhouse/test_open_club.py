"""Opening a club from the shell: by questions and by flags, all or nothing."""

from __future__ import annotations

import io
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from portal.audit.models import Entry
from portal.clubhouse.management.commands import open_club
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, Membership, Squad, User
from tests.cast import Cast
from tests.mailroom.relay import relay

FLAGS = {
    "name": "Otters of Millrace",
    "zone": "Europe/Dublin",
    "course": "25 m",
    "season_starts": "2026-08-01",
    "season_ends": "2027-07-31",
    "squad": "Juniors",
    "head_coach": "Greta Holm",
    "head_coach_email": "Greta@Example.org",
    "officer": "Wanda Okoro",
    "officer_email": "wanda@example.org",
    "second": "Nils Aske",
    "second_email": "nils@example.org",
}


def opened(**other: str) -> tuple[str, str]:
    said, complained = io.StringIO(), io.StringIO()
    call_command("open_club", no_input=True, stdout=said, stderr=complained, **{**FLAGS, **other})
    return said.getvalue(), complained.getvalue()


def test_it_works(db):
    with relay() as post:
        said, _complained = opened()

    club = Club.objects.get()
    assert (club.name, club.zone, club.seasons.get().ends) == (
        "Otters of Millrace",
        "Europe/Dublin",
        date(2027, 7, 31),
    )
    roles = {m.role: m.user.email for m in Membership.objects.select_related("user")}
    assert roles == {
        "head coach": "greta@example.org",
        "welfare officer": "wanda@example.org",
        "second recipient": "nils@example.org",
    }
    assert post.message()["To"] == "greta@example.org"
    assert "A test mail went to greta@example.org" in said
    assert "/club/" in said
    assert Entry.objects.get(thing="club").detail == {"what": "opened"}


def test_the_first_squad_may_have_its_second_adult_at_once(db):
    opened(second_adult="Tom Varga", second_adult_email="Tom@example.org")

    adult = Squad.objects.get(name="Juniors").second_adult
    assert adult is not None and adult.email == "tom@example.org"

    with pytest.raises(CommandError, match="needs a name and an address"):
        opened(name="Another", second_adult="Tom Varga")
    assert not Club.objects.filter(name="Another").exists()


def test_without_a_mail_server_it_says_where_the_mail_lies(db, settings):
    said, _complained = opened()

    assert str(settings.EMAIL_FILE_PATH) in said
    assert OutgoingMail.objects.get().state == OutgoingMail.State.SENT


def test_a_server_that_refuses_does_not_undo_the_club(db):
    with relay() as post:
        post.at_recipient = "550 no such box"
        _said, complained = opened()

    assert "did not leave" in complained
    assert "550" in complained
    assert Club.objects.exists()


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"name": " "}, "needs a name"),
        ({"zone": "Europe/Dublim"}, "Europe/Dublin"),
        ({"zone": "London"}, "Europe/London"),
        ({"course": "33 m"}, "25 m, 50 m, 25 yd"),
        ({"season_starts": "1.8.2026"}, "Write it as"),
        ({"season_ends": "2026-07-31"}, "Turn them round"),
        ({"head_coach_email": "greta"}, "“greta” is not a whole address"),
        ({"officer_email": "greta@example.org"}, "concerns go past the coaches"),
        ({"second_email": "wanda@example.org"}, "Name a third person"),
        ({"officer": ""}, "An answer is missing"),
    ],
)
def test_an_impossible_answer_writes_nothing(db, other: dict[str, str], said: str):
    with pytest.raises(CommandError, match=said):
        opened(**other)

    assert not Club.objects.exists()
    assert not User.objects.exists()


def test_the_same_name_twice(db):
    opened()
    with pytest.raises(CommandError, match="already"):
        opened(name="OTTERS of Millrace")
    assert Club.objects.count() == 1


def test_a_second_club_and_somebody_known_already(cast: Cast):
    opened(head_coach_email=cast.rival_coach.email)

    assert cast.rival_coach.memberships.count() == 2
    assert User.objects.filter(email=cast.rival_coach.email).count() == 1


def test_questions_are_asked_until_the_answers_fit(db, monkeypatch):
    """A wrong answer is asked again; when two do not fit each other, what was typed stays."""
    typed = iter(
        [
            "Millrace",
            "Dublin",
            "Europe/Dublin",
            "",
            "2026-08-01",
            "2026-07-01",
            *[""] * 3,
            "Greta Holm",
            "greta@example.org",
            "Wanda Okoro",
            "wanda@example.org",
            "Nils Aske",
            "nils@example.org",
            *[""] * 4,
            "2027-07-31",
            *[""] * 9,
        ]
    )
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return next(typed)

    monkeypatch.setattr("builtins.input", answer)
    complained = io.StringIO()
    call_command(open_club.Command(), stdout=io.StringIO(), stderr=complained)

    assert Club.objects.get().zone == "Europe/Dublin"
    assert "written like Europe/Dublin" in complained.getvalue()
    assert "Turn them round" in complained.getvalue()
    assert "Head coach, name [Greta Holm]: " in asked
