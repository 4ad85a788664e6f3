"""A sign-in that is too long ago: where somebody comes back to after the next one."""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from portal.people import recent
from tests.cast import Cast


@pytest.fixture
def head(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.head_coach)
    return client


def test_it_works(head: Client):
    stale = head.get("/club/people/?club=x")
    assert stale.headers["Location"] == "/sign-in/again/?next=%2Fclub%2Fpeople%2F%3Fclub%3Dx"
    session = head.session
    session[recent.KEY] = timezone.now().timestamp()
    session.save()

    assert head.get("/club/people/").status_code == 200


@pytest.mark.parametrize(
    ("referer", "back"),
    [
        ("http://testserver/club/people/", "%2Fclub%2Fpeople%2F"),
        ("https://elsewhere.example/club/people/", "%2Fclub%2Fpeople%2F"),
        ("", "%2F"),
    ],
)
def test_a_button_leads_back_to_its_page(cast: Cast, head: Client, referer: str, back: str):
    """Never to the address of the button, which is no page, and never to another site."""
    member = cast.coach.memberships.get()
    stale = head.post(f"/club/people/{member.code}/end/", headers={"referer": referer})

    assert stale.headers["Location"] == f"/sign-in/again/?next={back}"
    member.refresh_from_db()
    assert member.ends is None


@pytest.mark.parametrize(("name", "status"), [("coach", 403), ("guardian", 404), ("stranger", 404)])
def test_whom_the_rule_keeps_out_is_not_asked_for_a_sign_in(cast: Cast, name: str, status: int):
    client = Client()
    client.force_login(getattr(cast, name))
    member = cast.coach.memberships.get()

    assert client.get("/club/people/").status_code == status
    assert client.post(f"/club/people/{member.code}/end/").status_code == status


def test_who_is_not_there_is_missing_before_a_sign_in_is_asked_for(head: Client):
    nobody = "00000000-0000-0000-0000-000000000000"

    assert head.post(f"/club/people/{nobody}/end/").status_code == 404
