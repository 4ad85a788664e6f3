"""Whom to turn to: named for the club's own people, for nobody else, and never a coach."""

from __future__ import annotations

import re
from datetime import date
from uuid import UUID

import pytest
from django.conf import settings
from django.core.cache import cache
from django.test import Client
from django.utils.html import escape

from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.openness.concern import AT_MOST
from portal.openness.models import Case
from portal.people.models import Membership, Squad, Suspension, User
from tests.cast import NOW, Cast, Role, join, make_user

OFFICER = "wanda.okoro@example.org"


def page(user: User | None) -> str:
    client = Client()
    if user:
        client.force_login(user)
    response = client.get("/concern/")
    assert response.status_code == 200
    return response.content.decode()


def test_it_works(cast: Cast):
    said = page(cast.guardian)
    assert "Wanda Okoro" in said
    assert f'href="mailto:{OFFICER}"' in said
    assert "not to the coaches" in said
    assert "local emergency number" in said


@pytest.mark.parametrize(
    "name",
    [
        *("guardian", "co_guardian", "swimmer_user", "second_adult", "welfare"),
        *("assistant", "coach", "other_coach", "head_coach"),
    ],
)
def test_everybody_of_the_club_learns_the_name(cast: Cast, name: str):
    assert OFFICER in page(cast.person(name))


@pytest.mark.parametrize("name", ["anonymous", "stranger", "former_guardian", "rival_coach"])
def test_nobody_else_does(cast: Cast, name: str):
    said = page(cast.person(name))
    assert "Wanda" not in said
    assert "@" not in said.replace("@media", "")
    assert "governing body" in said
    assert "local emergency number" in said


def test_a_stranger_is_shown_the_door_and_the_way_back(db):
    assert 'href="/sign-in/?next=/concern/"' in page(None)


def test_no_coach_is_named(cast: Cast):
    said = page(cast.guardian)
    for coach in [cast.head_coach, cast.coach, cast.assistant, cast.second_adult]:
        assert coach.name not in said


def test_a_volunteer_learns_the_name(cast: Cast):
    volunteer = make_user("Vera Moss")
    join(volunteer, cast.club, Role.VOLUNTEER)
    assert OFFICER in page(volunteer)


def test_an_officer_who_has_left_is_not_named(cast: Cast):
    Membership.objects.filter(user=cast.welfare).update(ends=date(2026, 1, 1))
    assert "Wanda" not in page(cast.guardian)


def test_a_suspended_officer_is_not_named(cast: Cast):
    User.objects.filter(pk=cast.welfare.pk).update(is_active=False)
    assert "Wanda" not in page(cast.guardian)


def test_two_officers_are_both_named(cast: Cast):
    join(make_user("Olga Reyes"), cast.club, Role.WELFARE)
    said = page(cast.guardian)
    assert said.index("Olga Reyes") < said.index("Wanda Okoro")


WORDS = "He stays in the changing room <b>when we change</b>."


def typed(**fields: str) -> dict[str, str]:
    return {
        "code": "6f0b4b3a-96c2-4a5e-9f0e-0f5c14c4b7aa",
        "subject": "child",
        "words": WORDS,
        **fields,
    }


def client_of(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture(autouse=True)
def nobody_has_told():
    cache.clear()


@pytest.mark.parametrize("name", ["guardian", "swimmer_user", "coach", "second_adult", "volunteer"])
def test_it_is_kept_for_the_officer_alone_and_mailed_without_a_word_of_it(cast: Cast, name: str):
    client = client_of(getattr(cast, name))

    answer = client.post("/concern/", typed(about="Piet Sand", may_answer="on"))

    assert answer.headers["Location"] == "/concern/sent/"
    case = Case.objects.get()
    assert (case.reader, case.words, case.about) == ("officer", WORDS, "Piet Sand")
    assert (case.told_by, case.may_answer, case.state) == (getattr(cast, name), True, "new")
    [mail] = OutgoingMail.objects.all()
    assert (mail.recipient, mail.kind) == (cast.welfare, "safeguarding")
    said = f"{mail.subject} {mail.text} {mail.html}"
    for secret in [case.number, str(case.code), "changing", "Piet", getattr(cast, name).name]:
        assert secret not in said
    assert f"{settings.PUBLIC_ADDRESS}/cases/" in mail.text
    assert Job.objects.filter(kind="mailroom.send", payload={"mail": str(mail.code)}).exists()
    assert case.number in client.get("/concern/sent/").content.decode()


def test_about_the_officer_it_goes_past_the_officer(cast: Cast):
    client_of(cast.guardian).post("/concern/", typed(about_officer="on"))

    case = Case.objects.get()
    [mail] = OutgoingMail.objects.all()
    assert (case.reader, mail.recipient) == ("second", cast.second_recipient)
    assert case.number not in client_of(cast.welfare).get("/cases/").content.decode()
    assert client_of(cast.welfare).get(f"/cases/{case.code}/").status_code == 404
    assert (
        WORDS[:20] in client_of(cast.second_recipient).get(f"/cases/{case.code}/").content.decode()
    )


def test_it_names_who_reads_it_instead(cast: Cast):
    assert "only Nils Aske reads it" in page(cast.guardian)

    Membership.objects.filter(user=cast.second_recipient).delete()

    assert "about_officer" not in page(cast.guardian)


def test_the_officer_is_no_second_recipient_of_themselves(cast: Cast):
    Membership.objects.filter(user=cast.second_recipient).delete()
    join(cast.welfare, cast.club, Role.SECOND_RECIPIENT)

    assert "about_officer" not in page(cast.guardian)


def test_where_the_officer_coaches_the_second_recipient_hears_all(cast: Cast):
    join(cast.welfare, cast.club, Role.COACH, cast.squad)

    client_of(cast.guardian).post("/concern/", typed())

    assert Case.objects.get().reader == "second"
    assert client_of(cast.welfare).get(f"/cases/{Case.objects.get().code}/").status_code == 404


def test_where_nobody_hears_there_is_no_form(cast: Cast):
    Membership.objects.filter(role__in=[Role.WELFARE, Role.SECOND_RECIPIENT]).delete()

    assert "<textarea" not in page(cast.guardian)
    assert client_of(cast.guardian).post("/concern/", typed()).status_code == 422
    assert not Case.objects.exists()


def test_sent_twice_it_is_one(cast: Cast):
    client = client_of(cast.guardian)
    for _again in range(2):
        client.post("/concern/", typed())

    assert Case.objects.count() == OutgoingMail.objects.count() == 1


def test_another_persons_code_overwrites_nothing(cast: Cast):
    client_of(cast.guardian).post("/concern/", typed())

    client_of(cast.co_guardian).post("/concern/", typed(words="Something else."))

    told = Case.objects.order_by("pk").values_list("told_by", "words")
    assert list(told) == [(cast.guardian.pk, WORDS), (cast.co_guardian.pk, "Something else.")]


def test_what_was_typed_is_not_lost_when_something_is_missing(cast: Cast):
    answer = client_of(cast.guardian).post("/concern/", typed(subject=""))

    assert answer.status_code == 422
    assert escape(WORDS) in answer.content.decode()


def test_nor_when_the_sign_in_ran_out(cast: Cast):
    answer = Client().post("/concern/", typed())

    said = answer.content.decode()
    assert answer.status_code == 403
    assert escape(WORDS) in said
    assert "signed out by now" in said
    assert "Wanda" not in said
    assert not Case.objects.exists()


def test_nor_when_the_page_was_open_too_long(cast: Cast):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.guardian)

    answer = client.post("/concern/", typed())

    said = answer.content.decode()
    assert answer.status_code == 403
    assert escape(WORDS) in said
    assert not Case.objects.exists()

    token = re.search(r'csrfmiddlewaretoken" value="(\w{64})"', said)
    assert token
    client.post("/concern/", typed(csrfmiddlewaretoken=token[1]))
    assert Case.objects.count() == 1


def test_nor_when_it_was_a_lot_in_a_short_time(cast: Cast):
    client = client_of(cast.guardian)
    for number in range(AT_MOST):
        client.post("/concern/", typed(code=str(UUID(int=number + 1))))

    answer = client.post("/concern/", typed())

    assert answer.status_code == 429
    assert escape(WORDS) in answer.content.decode()
    assert Case.objects.count() == AT_MOST


def test_nobody_is_told_a_number_without_having_told(cast: Cast):
    assert client_of(cast.guardian).get("/concern/sent/").headers["Location"] == "/concern/"


def test_the_suspended_may_still_tell(cast: Cast):
    Suspension.objects.create(user=cast.coach, club=cast.club, by=cast.welfare, at=NOW)

    client_of(cast.coach).post("/concern/", typed())

    assert Case.objects.get().told_by == cast.coach


def test_somebody_of_two_clubs_says_which(cast: Cast):
    elsewhere = cast.rival_coach.memberships.get().club
    join(make_user("Olga Reyes"), elsewhere, Role.WELFARE)
    join(cast.guardian, elsewhere, Role.ASSISTANT, Squad.objects.create(club=elsewhere, name="A"))
    client = client_of(cast.guardian)

    assert client.post("/concern/", typed()).status_code == 422
    client.post("/concern/", typed(club=str(elsewhere.code)))

    assert Case.objects.get().club == elsewhere
    assert OutgoingMail.objects.get().recipient.name == "Olga Reyes"


def test_a_club_of_others_is_not_theirs_to_choose(cast: Cast):
    elsewhere = cast.rival_coach.memberships.get().club
    join(make_user("Olga Reyes"), elsewhere, Role.WELFARE)

    client_of(cast.guardian).post("/concern/", typed(club=str(elsewhere.code)))

    assert Case.objects.get().club == cast.club
