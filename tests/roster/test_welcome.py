"""From the invitation's page to the questions, and a child's own way in."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.mailroom.models import OutgoingMail
from portal.people.access import actor_for
from portal.people.models import Guardianship, Swimmer, User
from portal.roster import enrolling, inviting
from portal.roster.parsing import Named
from tests.cast import DAY, Cast, make_swimmer
from tests.doorway.letters import code_for

OLE = "ole@example.org"


@pytest.fixture
def ida(cast: Cast) -> Swimmer:
    return make_swimmer(cast.club, cast.squad, "Ida Brook", born=DAY.replace(year=2012, month=2))


@pytest.fixture
def guardian(cast: Cast, ida: Swimmer) -> User:

    who: dict[str, Any] = {"by": cast.head_coach, "at": timezone.now()}
    tie = enrolling.name_guardian(ida, Named("Ole Brook", OLE), on=DAY, **who)
    inviting.invite_guardians([tie], **who)
    return tie.guardian


def ask(client: Client, address: str):
    return client.post(reverse("roster:welcome"), {"email": address}, follow=True)


def type_in(client: Client, code: str, year: str):
    return client.post(reverse("roster:type_code"), {"code": code, "year": year})


def test_it_works(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    assert "Year the swimmer was born" in ask(client, OLE).content.decode()

    response = type_in(client, code_for(guardian), "2012")

    assert response.headers["Location"] == reverse("people:questions", args=[ida.code])
    assert client.get(response.headers["Location"]).status_code == 200
    assert Guardianship.objects.get(guardian=guardian).is_accepted


def test_one_answer_for_all_that_is_wrong(cast: Cast, ida: Swimmer, guardian: User):
    pages = []
    for address, code, year in [
        (OLE, None, "2011"),
        (OLE, "ABCD-EFGH", "2012"),
        ("nobody@example.org", "ABCD-EFGH", "2012"),
        (cast.stranger.email, None, "2012"),
    ]:
        client = Client()
        ask(client, address)
        typed = code or code_for(User.objects.get(email=address))
        page = type_in(client, typed, year).content.decode()
        assert "That does not fit together." in page
        pages.append(page.replace(typed, "").replace(f'"{year}"', "").split("<main")[1])
        assert not client.session.get("_auth_user_id")

    assert len({re.sub(r'value="\w{64}"', "", page) for page in pages}) == 1
    assert not Guardianship.objects.get(guardian=guardian).is_accepted


def test_three_wrong_years_shut_it(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    ask(client, OLE)
    for _try in range(3):
        response = type_in(client, code_for(guardian), "2011")
    assert response.headers["Location"] == reverse("roster:welcome")

    ask(client, OLE)
    assert "does not fit" in type_in(client, code_for(guardian), "2012").content.decode()


def test_a_wrong_code_burns_no_year(cast: Cast, ida: Swimmer, guardian: User):
    """Or anybody who knows the address could shut a guardian out."""
    for _round in range(2):
        client = Client()
        ask(client, OLE)
        for _try in range(3):
            type_in(client, "ABCD-EFGH", "1999")

    client = Client()
    ask(client, OLE)
    assert type_in(client, code_for(guardian), "2012").status_code == 302


def test_a_missing_year_is_no_try(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    ask(client, OLE)
    for _try in range(4):
        assert "four digits" in type_in(client, code_for(guardian), "").content.decode()

    assert type_in(client, code_for(guardian), "2012").status_code == 302


def test_the_code_belongs_to_the_browser_that_asked(cast: Cast, ida: Swimmer, guardian: User):
    ask(Client(), OLE)
    other = Client()

    type_in(other, code_for(guardian), "2012")

    assert not other.session.get("_auth_user_id")
    assert not Guardianship.objects.get(guardian=guardian).is_accepted


def test_the_ordinary_door_gives_no_sight(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    client.force_login(guardian)

    for name in ("people:child", "people:questions", "roster:own_sign_in"):
        assert client.get(reverse(name, args=[ida.code])).status_code == 404

    assert "one thing is left to ask" in client.get("/welcome/").content.decode()
    assert client.post("/welcome/", {"year": "2012"}).status_code == 302
    assert client.get(reverse("people:child", args=[ida.code])).status_code == 200


def test_looking_accepts_nothing(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    client.force_login(guardian)
    client.get("/welcome/?year=2012")

    assert not Guardianship.objects.get(guardian=guardian).is_accepted


def test_a_guardian_lets_a_child_in(cast: Cast, ida: Swimmer, guardian: User):
    client = Client()
    client.force_login(guardian)
    client.post("/welcome/", {"year": "2012"})
    page = reverse("roster:own_sign_in", args=[ida.code])

    client.post(page, {"agree": "1", "address": "ida@example.org"})

    own = User.objects.get(email="ida@example.org")
    copies = OutgoingMail.objects.filter(kind="invitation", subject__contains="invited to sign in")
    assert copies.get().recipient == guardian
    child = Client()
    ask(child, own.email)
    assert type_in(child, code_for(own), "2012").headers["Location"] == reverse("notes:home")
    ida.refresh_from_db()
    assert ida.user == own

    client.post(page, {"stop": "1"})

    assert not actor_for(own, at=timezone.now()).is_family


def test_under_13_it_is_refused_with_the_reason(cast: Cast, ida: Swimmer, guardian: User):
    Swimmer.objects.filter(pk=ida.pk).update(born=DAY.replace(year=2016))
    client = Client()
    client.force_login(guardian)
    client.post("/welcome/", {"year": "2016"})
    page = reverse("roster:own_sign_in", args=[ida.code])

    assert "is under 13" in client.get(page).content.decode()
    answer = client.post(page, {"agree": "1", "address": "ida@example.org"})

    assert "is under 13" in answer.content.decode()
    assert not User.objects.filter(email="ida@example.org").exists()
