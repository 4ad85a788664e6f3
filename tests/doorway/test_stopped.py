"""Pages where the line ends: kind, and no wiser than they should be."""

from __future__ import annotations

import re
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.test import Client

from portal.doorway import picking
from portal.kit import stopping
from tests.cast import Cast


def seen(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 404
    own = rf'name="csrfmiddlewaretoken" value="\w+"|{response.headers["X-Request-ID"]}'
    return re.sub(own, "", response.content.decode())


def test_hidden_and_missing_look_alike(cast: Cast):
    client = Client()
    client.force_login(cast.rival_coach)
    hidden = seen(client, f"/sessions/{cast.session.code}/")
    assert "Nothing hangs here" in hidden
    assert hidden == seen(client, f"/sessions/{uuid.uuid4()}/")
    assert hidden == seen(client, "/nothing/")


def test_a_refusal_says_whose_part_it_is(rf):
    response = stopping.forbidden(rf.get("/"), PermissionDenied("Publishing is the coach’s part."))
    assert response.status_code == 403
    assert "Publishing is the coach’s part." in response.content.decode()
    assert "Nothing was changed." in response.content.decode()


def test_a_wrong_host_is_a_bad_request(client: Client, db):
    response = client.get("/sign-in/", headers={"Host": "elsewhere.example.com"})
    assert response.status_code == 400
    assert "That did not arrive whole" in response.content.decode()
    assert "elsewhere" not in response.content.decode()


def test_a_fault_of_ours_shows_nothing_of_itself(db, monkeypatch):
    def fail(_request: HttpRequest) -> bool:
        raise ValueError("the inner workings")

    monkeypatch.setattr(picking, "is_open", fail)
    response = Client(raise_request_exception=False).get("/demo/")
    assert response.status_code == 500
    assert "Something broke on our side" in response.content.decode()
    assert "inner workings" not in response.content.decode()


@pytest.mark.parametrize("address", ["/nothing/", "/demo/"])
def test_strangers_find_the_way_back(client: Client, db, address: str):
    assert 'href="/"' in seen(client, address)
