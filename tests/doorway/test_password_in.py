"""The way in by a password, for those who have set one."""

from __future__ import annotations

import pytest
from django.contrib.auth import hashers
from django.test import Client

from portal.audit.models import Entry
from portal.doorway import entering
from portal.people.models import User
from tests.cast import Cast
from tests.doorway.letters import PASSWORD, by_password, is_in, seen


def test_it_works(client: Client, cast: Cast):
    response = by_password(client, cast.coach.email)

    assert response.headers["Location"] == "/"
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_IN)
    assert entry.detail == {"way": "password"}


def test_wrong_password(client: Client, cast: Cast):
    User.objects.filter(pk=cast.assistant.pk).update(is_active=False)
    known = by_password(client, cast.coach.email, "paper planes")
    assert "do not belong together" in known.content.decode()
    assert "paper planes" not in known.content.decode()
    for email, password in [("nobody@example.org", PASSWORD), (cast.assistant.email, PASSWORD)]:
        other = by_password(client, email, password)
        assert seen(other).replace(email, "X") == seen(known).replace(cast.coach.email, "X")
    assert not is_in(client)
    refused = Entry.objects.filter(action=Entry.Action.REFUSED, detail={"way": "password"})
    codes = [cast.coach.code, entering.NOBODY, cast.assistant.code]
    assert [row.thing_code for row in refused.order_by("pk")] == codes


@pytest.mark.parametrize("email", ["marta.lind@example.org", "nobody@example.org"])
def test_a_password_is_hashed_whoever_is_named(client: Client, cast: Cast, monkeypatch, email: str):
    hashed = []
    hasher = type(hashers.get_hasher())
    encode = hasher.encode

    def count(*args) -> str:
        hashed.append(1)
        return encode(*args)

    monkeypatch.setattr(hasher, "encode", count)
    by_password(client, email, "paper planes")
    assert len(hashed) == 1


def test_ten_passwords_and_then_a_wait_even_with_the_right_one(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES):
        assert by_password(client, cast.coach.email, "paper planes").status_code == 200
    response = by_password(client, cast.coach.email)

    assert response.status_code == 429
    assert not is_in(client)
