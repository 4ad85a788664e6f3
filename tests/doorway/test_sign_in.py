"""The way in: who is let in, and that the door tells nobody who is a member."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import hashers
from django.core.cache import cache
from django.test import Client

from portal.audit.models import Entry
from portal.doorway import entering
from portal.people.models import User
from tests.cast import Cast

PASSWORD = "paper boats in the gutter"


@pytest.fixture(autouse=True)
def nobody_has_tried() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


def sign_in(client: Client, email: str, password: str = PASSWORD, **extra: Any):
    return client.post("/sign-in/", {"email": email, "password": password, **extra})


def is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def seen(response) -> str:
    """The page without what differs from one request to the next."""
    return re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", response.content.decode())


def test_it_works(client: Client, cast: Cast):
    response = sign_in(client, cast.coach.email)
    assert (response.status_code, response.headers["Location"]) == (302, "/")
    assert client.session["_auth_user_id"] == str(cast.coach.pk)
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_IN)
    assert entry.actor_code == entry.thing_code == cast.coach.code


def test_the_page_helps_password_keepers(client: Client, db):
    page = client.get("/sign-in/").content.decode()
    assert 'autocomplete="username"' in page
    assert 'autocomplete="current-password"' in page
    assert 'type="email"' in page


def test_capitals_and_spaces_in_the_address(client: Client, cast: Cast):
    sign_in(client, " Marta.LIND@example.org ")
    assert is_in(client)


def test_a_new_session_begins(client: Client, cast: Cast):
    client.get("/sign-in/")
    session = client.session
    session["left by"] = "somebody before"
    session.save()
    before = session.session_key
    sign_in(client, cast.coach.email)
    assert client.session.session_key != before


def test_wrong_password(client: Client, cast: Cast):
    response = sign_in(client, cast.coach.email, "paper planes")
    assert response.status_code == 200
    assert not is_in(client)
    assert "do not belong together" in response.content.decode()
    assert "paper planes" not in response.content.decode()


def test_unknown_and_suspended_people_get_the_answer_of_a_wrong_password(
    client: Client, cast: Cast
):
    User.objects.filter(pk=cast.assistant.pk).update(is_active=False)
    known = sign_in(client, cast.coach.email, "paper planes")
    for email in ["nobody@example.org", cast.assistant.email]:
        other = sign_in(client, email)
        assert other.status_code == known.status_code
        assert seen(other).replace(email, "X") == seen(known).replace(cast.coach.email, "X")
    assert not is_in(client)


@pytest.mark.parametrize("email", ["marta.lind@example.org", "nobody@example.org"])
def test_a_password_is_hashed_whoever_is_named(client: Client, cast: Cast, monkeypatch, email: str):
    hashed = []
    hasher = type(hashers.get_hasher())
    encode = hasher.encode

    def count(*args: Any) -> str:
        hashed.append(1)
        return encode(*args)

    monkeypatch.setattr(hasher, "encode", count)
    sign_in(client, email, "paper planes")
    assert len(hashed) == 1


def test_ten_tries_and_then_a_wait_even_with_the_right_password(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES):
        assert sign_in(client, cast.coach.email, "paper planes").status_code == 200
    response = sign_in(client, cast.coach.email)
    assert response.status_code == 429
    assert "Wait 15 minutes" in response.content.decode()
    assert not is_in(client)


def test_unknown_addresses_wait_as_well(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES):
        sign_in(client, "nobody@example.org")
    assert sign_in(client, "nobody@example.org").status_code == 429


def test_others_need_not_wait(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES + 1):
        sign_in(client, cast.coach.email, "paper planes")
    sign_in(client, cast.guardian.email)
    assert is_in(client)
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    sign_in(elsewhere, cast.coach.email)
    assert is_in(elsewhere)


def test_one_place_cannot_try_name_after_name(client: Client, cast: Cast, monkeypatch):
    monkeypatch.setattr(entering, "MOST_FROM_A_PLACE", 5)
    for number in range(5):
        assert sign_in(client, f"somebody{number}@example.org").status_code == 200

    assert sign_in(client, cast.coach.email).status_code == 429
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    assert sign_in(elsewhere, cast.coach.email).status_code == 302


def test_a_flood_of_names_does_not_push_the_tries_out(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES):
        sign_in(client, cast.coach.email, "paper planes")

    cache.set_many({f"name-{number}": 1 for number in range(2000)})

    assert sign_in(client, cast.coach.email).status_code == 429


def test_success_forgets_the_tries(client: Client, cast: Cast):
    for _ in range(2):
        for _ in range(entering.MOST_TRIES - 1):
            sign_in(client, cast.coach.email, "paper planes")
        assert sign_in(client, cast.coach.email).status_code == 302
        client.logout()


def test_the_cache_holds_no_address(client: Client, cast: Cast):
    sign_in(client, cast.coach.email, "paper planes")
    kept = cache._cache  # type: ignore[attr-defined]
    keys = [str(key) for key in (kept.get_client().keys() if settings.REDIS else kept)]
    assert [key for key in keys if "door:" in key]
    assert not [key for key in keys if "marta" in key]


@pytest.mark.parametrize(
    ("email", "password", "said"),
    [
        ("", PASSWORD, "The address is missing."),
        ("marta", PASSWORD, "not a whole address"),
        ("marta.lind@example.org", "", "The password is missing."),
        ("marta.lind@example.org", "x\x00y", "Null characters"),
    ],
)
def test_what_is_missing_is_said(client: Client, cast: Cast, email: str, password: str, said: str):
    response = sign_in(client, email, password)
    assert said in response.content.decode()
    assert 'aria-invalid="true"' in response.content.decode()
    assert not is_in(client)


def test_it_goes_on_to_the_page_that_was_wanted(client: Client, cast: Cast):
    wanted = f"/notes/{cast.swimmer.code}/"
    page = client.get("/sign-in/", {"next": wanted}).content.decode()
    assert f'name="next" value="{wanted}"' in page
    response = sign_in(client, cast.guardian.email, next=wanted)
    assert response.headers["Location"] == wanted


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://example.com/",
        "//example.com/",
        "/\\example.com",
        "\\/example.com",
        "///example.com",
        "javascript:alert(1)",
        "/\t/example.com",
        "sessions/",
        "http:///example.com",
    ],
)
def test_it_goes_nowhere_else(client: Client, cast: Cast, elsewhere: str):
    assert "example.com" not in client.get("/sign-in/", {"next": elsewhere}).content.decode()
    response = sign_in(client, cast.coach.email, next=elsewhere)
    assert response.headers["Location"] == "/"


def test_who_is_in_need_not_sign_in(as_coach: Client):
    assert as_coach.get("/sign-in/").headers["Location"] == "/"


def test_a_forged_form_is_refused_kindly(cast: Cast):
    client = Client(enforce_csrf_checks=True)
    response = sign_in(client, cast.coach.email)
    assert response.status_code == 403
    assert "This page was open too long" in response.content.decode()


def test_a_stranger_is_sent_to_the_door_and_back(client: Client, db):
    assert client.get("/notes/").headers["Location"] == "/sign-in/?next=/notes/"


def test_signing_out(as_coach: Client, cast: Cast):
    response = as_coach.post("/sign-out/")
    assert response.headers["Location"] == "/sign-in/"
    assert response.headers["Clear-Site-Data"] == '"cache", "storage"'
    assert not is_in(as_coach)
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_OUT)
    assert entry.actor_code == cast.coach.code


def test_signing_out_needs_a_button(as_coach: Client):
    assert as_coach.get("/sign-out/").status_code == 405
    assert is_in(as_coach)


def test_signing_out_twice_is_once(client: Client, db):
    assert client.post("/sign-out/").headers["Location"] == "/sign-in/"
    assert not Entry.objects.exists()
