"""Every address, tried by thirteen people, answers as tests/access_table.csv says."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.cache import cache
from django.db import transaction
from django.http import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.people.models import User
from tests.cast import Cast, assemble
from tests.world import Codes, build

TABLE = Path(__file__).with_name("access_table.csv")
PEOPLE = 13

# What the code in an address of this name stands for.
CODES = {
    "people:child": "swimmer",
    "people:questions": "swimmer",
    "people:policy": "club",
    "people:change_policy": "club",
    "people:squad_answers": "squad",
    "people:answers": "swimmer",
    "openness:case": "case",
    "openness:film": "recording",
    "openness:person": "person",
    "openness:end_look": "look",
    **dict.fromkeys(("notes:week", "notes:over_time", "notes:hand_over"), "swimmer"),
    "notes:hide": "clip",
    "notes:show_again": "clip",
    "recordings:session": "session",
    "recordings:upload": "session",
    "recordings:announce": "session",
    "recordings:change_session": "session",
    "recordings:call_off": "session",
    "recordings:remove_clip": "clip[draft]",
    "recordings:recut": "clip[draft]",
    "recordings:copy_again": "clip[draft]",
    "recordings:film": "copy",
    "recordings:times": "copy",
    "review:deck": "session",
    "review:take_out": "deck note",
    "review:bench": "clip",
    "review:write": "clip",
    "review:said": "clip",
    "review:vtt": "clip",
    "review:annotations": "clip",
    "review:marks": "clip",
    "review:change_mark": "mark",
    "review:beside": "clip",
    "review:change": "comment",
    "review:drop": "comment",
    "review:restore": "comment",
    "review:repeat": "comment",
    "review:publish": "review",
    "review:take_back": "review",
    "review:hand_over": "review",
    **dict.fromkeys(("notes:notes", "notes:say", "notes:answer"), "review"),
    "notes:still": "comment",
    "progress:swimmer": "swimmer",
    "progress:disputes": "squad",
    "progress:open_items": "squad",
    "progress:squad": "squad",
    "reports:sheet": "session",
    "technique:month": "squad",
    **dict.fromkeys(("roster:squad", "roster:export", "roster:add", "roster:list"), "squad"),
    **dict.fromkeys(
        (
            "roster:swimmer",
            "roster:correct",
            "roster:move",
            "roster:leave",
            "roster:link",
            "roster:invite_grown_up",
            "roster:own_sign_in",
        ),
        "swimmer",
    ),
    **dict.fromkeys(
        ("roster:end", "roster:bar", "roster:invite", "roster:readdress"), "guardianship"
    ),
    "poolside:film_list": "session",
    **dict.fromkeys(("poolside:turn", "poolside:wishes"), "turn"),
    **dict.fromkeys(("planning:plan", "planning:seat", "planning:sheet"), "lane plan"),
    "planning:lane": "lane",
    **dict.fromkeys(("mailroom:outbox", "digests:weekly"), "club"),
    "mailroom:send_again": "mail",
    "planning:film_list": "session",
    **dict.fromkeys(("meets:meet", "meets:enter"), "meet"),
    **dict.fromkeys(("meets:withdraw", "meets:slip"), "entry"),
    "reports:pdf": "sheet",
    **dict.fromkeys(
        (
            "recordings:sorting",
            "recordings:state",
            "recordings:again",
            "recordings:throw_away",
            "recordings:keep_from_families",
            "recordings:cut",
            "recordings:pass_over",
            "recordings:take_back",
            "recordings:pace",
            "recordings:strip",
            "recordings:poster",
        ),
        "recording",
    ),
}


# Addresses with something else in them; nobody has the thing of this number.
NOBODY = "00000000-0000-0000-0000-000000000000"
VALUES: dict[str, dict[str, object]] = {
    "clubhouse:end_role": {"code": NOBODY},
    "doorway:end_session": {"number": 0},
    "recordings:arrival": {"code": NOBODY},
    "mfa_remove_webauthn": {"pk": 0},
    "technique:fault": {"slug": "breast-heels-low"},
    "technique:checkpoint": {"slug": "breast-heels-high"},
    "technique:drill": {"slug": "breast-kick-hands-hips"},
    "technique:rule": {"slug": "two-hand-touch"},
    "technique:stroke": {"stroke": "breast"},
    "technique:rules": {"stroke": "breast"},
    "technique:add": {"table": "faults"},
    "technique:take": {"kind": "csv"},
    "technique:reword": {"table": "faults", "slug": "breast-heels-low"},
    "technique:retire": {"table": "faults", "slug": "breast-heels-low"},
}


def rows() -> list[dict[str, str]]:
    lines = [line for line in TABLE.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def names(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[str]:
    for entry in patterns:
        if isinstance(entry, URLResolver):
            inner = f"{entry.namespace}:" if entry.namespace else ""
            yield from names(entry.url_patterns, space + inner)
        else:
            yield f"{space}{entry.name}"


def plain(url: str) -> str:
    return url.split("[")[0]


def test_every_address_has_a_row():
    assert set(names(get_resolver().url_patterns)) == {plain(row["url"]) for row in rows()}


def test_every_row_speaks_of_thirteen_people():
    for row in rows():
        assert len(row) == PEOPLE + 2, row["url"]
        assert set(list(row.values())[2:]) <= set("2L34"), row["url"]


@pytest.fixture
def codes(cast: Cast) -> Codes:
    return build(cast)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['url']} {row['method']}")
def test_it_answers_as_the_table_says(row: dict[str, str], cast: Cast, codes: Codes):
    address = address_of(row["url"], codes)
    people = list(row)[2:]

    answers = {person: tried(cast, person, row["method"], address) for person in people}

    assert answers == {person: row[person] for person in people}


def address_of(url: str, codes: Codes) -> str:
    name, state = plain(url), url[len(plain(url)) :]
    if name == "review:words":
        return reverse(name, kwargs={"stroke": state.strip("[]")})
    kind = CODES.get(name)
    if name == "review:deck_notes":
        return reverse(name, args=[codes["session"], codes["swimmer[shown]"]])
    if name == "people:go_on_reading":
        return reverse(name, args=[codes["swimmer[shown]"], codes["guardianship"]])
    if name == "mailroom:stop":
        reader = User.objects.get(code=codes["person"])
        return reverse(name, args=[stopping.letters(reader, OutgoingMail.Kind.WEEKLY)])
    if kind is None:
        return reverse(name, kwargs=VALUES.get(name))
    return reverse(name, kwargs={"code": codes.get(f"{kind}{state}") or codes[kind]})


def tried(cast: Cast, person: str, method: str, address: str) -> str:
    """The answer as the table spells it; whatever the visit changed is taken back."""
    cache.clear()
    client = Client()
    user = cast.person(person)
    with transaction.atomic():
        if user:
            client.force_login(user)
        answer = said(client.generic(method, address))
        transaction.set_rollback(True)
    return answer


def said(response: HttpResponseBase) -> str:
    location = response.headers.get("Location", "")
    if response.status_code == 302 and location.startswith(reverse("doorway:sign_in")):
        return "L" if "next=" in location else "2"
    if response.streaming:
        response.getvalue()
    return {401: "L", 403: "3", 404: "4"}.get(response.status_code, "2")


def test_what_is_hidden_looks_like_what_is_not_there(cast: Cast, codes: Codes):
    """The stranger learns nothing from the page, its status or its headers."""
    client = Client()
    client.force_login(cast.stranger)
    missing = "00000000-0000-0000-0000-000000000000"
    for row in rows():
        if row["stranger"] != "4" or plain(row["url"]) not in CODES:
            continue
        address = address_of(row["url"], codes)
        hidden = client.generic(row["method"], address)
        absent = client.generic(row["method"], re.sub(r"[0-9a-f-]{36}", missing, address))
        assert (hidden.status_code, absent.status_code) == (404, 404)
        assert unmasked(hidden.content) == unmasked(absent.content), row["url"]


def unmasked(page: bytes) -> str:
    """Without the form's token, which is masked anew on every page, and the visit's own number."""
    return re.sub(r'value="\w{64}"|[0-9]{4}(-[0-9]{4}){2}', "", page.decode())


def test_every_page_leads_to_where_a_concern_is_reported(cast: Cast, codes: Codes):
    client = Client()
    for row in rows():
        client.force_login(cast.coach)
        if row["method"] != "GET" or row["coach"] != "2":
            continue
        page = client.get(address_of(row["url"], codes), follow=True)
        if page.headers["Content-Type"].startswith("text/html"):
            assert page.content.decode().count('href="/concern/"') == 1, row["url"]


def test_the_table_knows_the_cast(db):
    cast = assemble()
    for person in list(rows()[0])[2:]:
        assert person == "anonymous" or cast.person(person)
