"""What every answer says in its head, whoever asks, and at the ends of the line too."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.cache import cache
from django.http import HttpResponseBase
from django.test import Client

from portal.kit.csp import MEDIA_POLICY, PERMISSIONS, POLICY
from portal.technique import catalogue
from tests.cast import Cast
from tests.house import ROOT
from tests.test_access import address_of, plain, rows
from tests.world import Codes, build

MEDIA = {"recordings:film", "recordings:strip", "recordings:poster", "notes:still"}
# A browser may keep these, and asks each time whether they still hold.
KEPT = {*MEDIA, "recordings:times", "review:words", "reports:pdf"}
ALWAYS = {
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": PERMISSIONS,
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "X-Robots-Tag": "noindex",
}
STRONG_TAG = re.compile(r'"[^"]+"')


@pytest.fixture
def codes(cast: Cast) -> Codes:
    return build(cast)


def faults(response: HttpResponseBase, *, kept: bool = False, media: bool = False) -> Iterator[str]:
    heads = response.headers
    if response.streaming:
        response.getvalue()
    for name, value in ALWAYS.items():
        if heads.get(name) != value:
            yield f"{name}: {heads.get(name)}"
    policy = MEDIA_POLICY if media else POLICY
    said = re.sub(r"'nonce-[\w-]{22}'", "'nonce-{nonce}'", heads["Content-Security-Policy"])
    if said != policy:
        yield f"policy {said}"
    caching = set(heads.get("Cache-Control", "").split(", "))
    if not caching >= ({"private", "no-cache"} if kept else {"private", "no-store"}):
        yield f"cache {heads.get('Cache-Control')}"
    if kept and not STRONG_TAG.fullmatch(heads.get("ETag", "")):
        yield f"tag {heads.get('ETag')}"
    if not heads.get("X-Request-ID"):
        yield "no number"


@pytest.mark.parametrize("person", ["coach", "guardian", "anonymous"])
def test_it_works(person: str, cast: Cast, codes: Codes):
    """Every row of the access table by every method it may be asked with."""
    catalogue.load()
    found, kept_seen = [], set()
    client = Client()
    for row in rows():
        cache.clear()
        user = cast.person(person)
        if user:
            client.force_login(user)
        for method in {row["method"], "HEAD", "PUT"}:
            response = client.generic(method, address_of(row["url"], codes))
            is_there = response.status_code in (200, 206) and method != "PUT"
            name = plain(row["url"])
            kept, media = is_there and name in KEPT, is_there and name in MEDIA
            kept_seen |= {name} if kept else set()
            head = f"{row['url']} {method} {response.status_code}"
            found += [f"{head}: {fault}" for fault in faults(response, kept=kept, media=media)]
    assert found == []
    assert len(kept_seen) >= {"coach": 6, "guardian": 3, "anonymous": 0}[person]


def test_what_a_browser_still_holds_is_held_as_safely(cast: Cast, codes: Codes, as_coach: Client):
    """A browser takes over the head of a 304 for what it has."""
    address = address_of("recordings:strip", codes)
    tag = as_coach.get(address).headers["ETag"]

    response = as_coach.get(address, headers={"If-None-Match": tag})

    assert response.status_code == 304
    assert list(faults(response, kept=True, media=True)) == []


@pytest.mark.parametrize(
    ("address", "headers", "status"),
    [
        ("/nothing/", {}, 404),
        ("/static/nothing.css", {}, 404),
        ("/media/originals/x.film", {}, 404),
        ("/sessions", {}, 301),
        ("/sign-in/", {"Host": "elsewhere.example.com"}, 400),
    ],
)
def test_the_ends_of_the_line(
    address: str, headers: dict[str, str], status: int, client: Client, db
):
    response = client.get(address, headers=headers)

    assert response.status_code == status
    assert list(faults(response)) == []


def test_static_files(settings, client: Client, tmp_path: Path):
    """They alone may be kept without asking, and hold nothing of anybody's."""
    settings.STATIC_ROOT = tmp_path
    settings.WHITENOISE_AUTOREFRESH = False
    (tmp_path / "base.css").write_bytes((ROOT / "static/css/base.css").read_bytes())

    response = client.get("/static/base.css")

    assert response.status_code == 200
    assert [fault for fault in faults(response) if not fault.startswith("cache")] == []
    assert "public" in response.headers["Cache-Control"]


@pytest.mark.parametrize("is_secure", [True, False])
def test_a_portal_with_https_insists_on_it(settings, client: Client, db, is_secure: bool):
    settings.SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if is_secure else 0

    head = client.get("/health/", secure=is_secure).headers.get("Strict-Transport-Security")

    assert head == ("max-age=31536000" if is_secure else None)
