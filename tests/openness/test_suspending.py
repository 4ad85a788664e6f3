"""Shutting somebody out holds from their next request on, for this club and no other."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.mailroom.models import OutgoingMail
from portal.openness.models import Case, Line
from portal.people.models import Membership, Squad, Suspension, User
from tests.cast import Cast, Role, join, make_user
from tests.openness.told import case, client_of, read

REASON = "Until the talk of Friday."


def address(user: User) -> str:
    return f"/suspensions/{user.code}/"


def shut_out(cast: Cast, user: User, *, by: User | None = None, **fields: str):
    given = {"words": REASON, "act": "suspend", **fields}
    return client_of(by or cast.welfare).post(address(user), given)


def test_it_works(cast: Cast):
    coach = client_of(cast.coach)
    session = reverse("recordings:session", args=[cast.session.code])
    assert coach.get(session).status_code == 200

    shut_out(cast, cast.coach)

    assert coach.get(session).status_code == 404
    assert coach.get("/sessions/").status_code == 404
    page = read(cast.welfare, address(cast.coach))
    assert "Suspended from Otterbrook" in page
    [line] = Line.objects.all()
    assert (line.what, line.words, line.by) == ("suspended", REASON, cast.welfare)

    shut_out(cast, cast.coach, act="let back")

    assert coach.get(session).status_code == 200
    assert Line.objects.filter(case=line.case).count() == 1
    assert Suspension.objects.get().lifted_by == cast.welfare


@pytest.mark.parametrize("name", ["guardian", "swimmer_user", "second_adult"])
def test_families_and_second_adults_too(cast: Cast, name: str):
    person = getattr(cast, name)
    place = reverse("people:policy", args=[cast.club.code])
    client = client_of(person)
    assert client.get(place).status_code == 200

    shut_out(cast, person)

    assert client.get(place).status_code == 404


def test_what_another_club_gives_stays(cast: Cast):
    elsewhere = cast.rival_coach.memberships.get().club
    squad = Squad.objects.create(club=elsewhere, name="Masters")
    join(cast.coach, elsewhere, Role.COACH, squad)

    shut_out(cast, cast.coach)

    page = client_of(cast.coach).get(reverse("people:squad_answers", args=[squad.code]))
    assert page.status_code == 200


def test_the_head_coach_is_told_that_and_not_why(cast: Cast):
    shut_out(cast, cast.coach)

    [mail] = OutgoingMail.objects.all()
    assert (mail.recipient, mail.kind) == (cast.head_coach, "safeguarding")
    assert cast.coach.name in mail.text
    for part in (mail.subject, mail.text, mail.html):
        assert REASON not in part
        assert Case.objects.get().number not in part


def test_unless_it_is_the_head_coach(cast: Cast):
    shut_out(cast, cast.head_coach)

    assert client_of(cast.head_coach).get("/sessions/").status_code == 404
    assert not OutgoingMail.objects.exists()


def test_nobody_suspends_themselves(cast: Cast):
    answer = shut_out(cast, cast.welfare)

    assert answer.status_code == 422
    assert not Suspension.objects.exists()
    assert not Case.objects.exists()


def test_the_second_recipient_suspends_the_officer(cast: Cast):
    shut_out(cast, cast.welfare, by=cast.second_recipient)

    assert client_of(cast.welfare).get("/cases/").status_code == 404
    assert client_of(cast.welfare).get("/footage/").status_code == 404
    assert Case.objects.get().reader == "second"


def test_and_nobody_else(cast: Cast):
    assert "Marta Lind" not in read(cast.second_recipient, "/suspensions/")
    assert shut_out(cast, cast.coach, by=cast.second_recipient).status_code == 404
    assert not Suspension.objects.exists()


def test_the_officer_does_not_shut_out_who_hears_of_them(cast: Cast):
    assert "cannot suspend them" in read(cast.welfare, address(cast.second_recipient))

    shut_out(cast, cast.second_recipient)

    assert not Suspension.objects.exists()


@pytest.mark.parametrize("name", ["guardian", "coach", "head_coach", "volunteer", "rival_coach"])
def test_others_suspend_nobody(cast: Cast, name: str):
    client = client_of(getattr(cast, name))

    assert client.get("/suspensions/").status_code == 404
    assert shut_out(cast, cast.assistant, by=getattr(cast, name)).status_code == 404
    assert not Suspension.objects.exists()


@pytest.mark.parametrize("name", ["stranger", "rival_coach", "former_guardian"])
def test_nobody_of_elsewhere_is_found(cast: Cast, name: str):
    assert getattr(cast, name).name not in read(cast.welfare, "/suspensions/")
    assert shut_out(cast, getattr(cast, name)).status_code == 404


def test_without_a_reason_nothing_happens(cast: Cast):
    assert shut_out(cast, cast.coach, words="").status_code == 422
    assert not Suspension.objects.exists()


def test_twice_is_once(cast: Cast):
    shut_out(cast, cast.coach)

    assert shut_out(cast, cast.coach).status_code == 422
    assert Suspension.objects.count() == Line.objects.count() == Case.objects.count() == 1


def test_it_is_written_down(cast: Cast):
    shut_out(cast, cast.coach)
    shut_out(cast, cast.coach, act="let back")

    entries = Entry.objects.filter(thing="suspension").values_list("action", "detail")
    assert list(entries) == [
        ("made", {"user": str(cast.coach.code)}),
        ("changed", {"user": str(cast.coach.code)}),
    ]


def test_a_suspended_guardian_is_still_found_to_be_let_back(cast: Cast):
    shut_out(cast, cast.guardian)

    page = read(cast.welfare, "/suspensions/?q=falk")
    assert address(cast.guardian) in page
    assert "Marta Lind" not in page
    shut_out(cast, cast.guardian, act="let back")
    assert not Suspension.objects.filter(lifted_at=None).exists()


def test_from_a_case_the_reason_goes_into_it(cast: Cast):
    told = case(cast)
    assert f"?case={told.code}" in read(cast.welfare, f"/suspensions/?case={told.code}")

    shut_out(cast, cast.coach, case=str(told.code))

    assert Line.objects.get().case == told
    assert cast.coach.name in read(cast.welfare, f"/cases/{told.code}/")


def test_a_former_coach_is_not_of_the_club(cast: Cast):
    Membership.objects.filter(user=cast.coach).delete()

    assert shut_out(cast, cast.coach).status_code == 404


def test_many_people_take_no_more_queries(cast: Cast):
    counts = []
    client = client_of(cast.welfare)
    for more in (0, 20):
        for number in range(more):
            join(make_user(f"Coach {number}"), cast.club, Role.COACH, cast.squad)
        with CaptureQueriesContext(connection) as asked:
            client.get("/suspensions/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
