"""Whom to turn to: named for the club's own people, for nobody else, and never a coach."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client

from portal.people.models import Membership, User
from tests.cast import Cast, Role, join, make_user

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
