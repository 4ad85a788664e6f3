"""Who saw what, told by name: whole to the officer, in part to the head coach."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.openness import pursuing
from portal.openness.models import Case
from portal.people import suspending
from portal.people.models import User
from portal.recordings import holding
from portal.recordings.models import Rendition
from tests.cast import NOW, Cast
from tests.openness.told import case, client_of, read
from tests.recordings import filmed
from tests.world import build

DAY = NOW.date().isoformat()


@pytest.fixture
def copy(cast: Cast) -> Rendition:
    """Of a clip of Ines."""
    recording = filmed.ready(cast, name="lane 3.mp4")
    return filmed.copy(recording, filmed.clip(cast, recording, cast.swimmer))


def rows(user: User, **sought: object) -> list[str]:
    """The record as somebody reads it, a line each, without times and what reading it adds."""
    query = "&".join(f"{name}={value}" for name, value in sought.items())
    page = read(user, f"/record/?{query}")
    cells = re.findall(r"<tr>\s*<td[^>]*>.*?</td>(.*?)</tr>", page, re.S)
    told = [html.unescape(" ".join(re.sub(r"<[^>]+>", " ", cell).split())) for cell in cells]
    return [line for line in told if "this record" not in line]


def saw(thing, user: User, cast: Cast, **later: int) -> None:
    at = NOW + timedelta(**later)
    note(Entry.Action.SAW, thing, at=at, by=user, club=cast.club)


def test_it_works(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)
    saw(copy.recording, cast.assistant, cast, minutes=1)
    note(Entry.Action.PUBLISHED, cast.session, at=NOW + timedelta(hours=1), by=None, club=cast.club)

    assert rows(cast.welfare) == [
        "the portal published session Juniors, 19.11.2026",
        "Dov Merrin saw recording lane 3.mp4",
        "Marta Lind saw film Ines Falk",
    ]


def test_who_saw_one_clip(cast: Cast, copy: Rendition):
    """Its own copy, the bench with it, and the whole take around it; not another clip."""
    assert copy.clip
    whole = copy.recording.renditions.get(clip=None)
    other = filmed.clip(cast, copy.recording, cast.mate, first=200, last=250)
    saw(copy, cast.coach, cast)
    saw(whole, cast.assistant, cast, minutes=1)
    saw(copy.clip, cast.head_coach, cast, minutes=2)
    saw(filmed.copy(copy.recording, other), cast.other_coach, cast, minutes=3)

    assert rows(cast.welfare, of=copy.clip.code) == [
        "Greta Holm saw clip Ines Falk",
        "Dov Merrin saw film lane 3.mp4",
        "Marta Lind saw film Ines Falk",
    ]
    assert len(rows(cast.welfare, of=copy.recording.code)) == 4


def test_who_published(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)
    note(Entry.Action.PUBLISHED, cast.session, at=NOW, by=cast.coach, club=cast.club)

    assert rows(cast.welfare, action="published") == [
        "Marta Lind published session Juniors, 19.11.2026"
    ]


def test_by_person_kind_and_day(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)
    saw(copy, cast.assistant, cast, minutes=1)
    saw(copy.recording, cast.coach, cast, days=1)

    assert rows(cast.welfare, person=cast.assistant.code) == ["Dov Merrin saw film Ines Falk"]
    assert rows(cast.welfare, kind="recording") == ["Marta Lind saw recording lane 3.mp4"]
    assert len(rows(cast.welfare, day=DAY)) == 2
    assert rows(cast.welfare, day=DAY, person=cast.coach.code) == ["Marta Lind saw film Ines Falk"]


def test_a_day_is_the_clubs_own(cast: Cast, copy: Rendition):
    cast.club.zone = "Pacific/Auckland"
    cast.club.save(update_fields=["zone"])
    saw(copy, cast.coach, cast)

    assert rows(cast.welfare, day=DAY) == []
    assert len(rows(cast.welfare, day="2026-11-20")) == 1


def test_by_swimmer(cast: Cast):
    """Their film and notes, whoever else swims in the take; nothing of another swimmer."""
    codes = build(cast)
    before = Entry.objects.count()
    for place in ("notes:notes", "notes:still"):
        code = codes["review[shown]" if place == "notes:notes" else "comment[shown]"]
        client_of(cast.second_adult).get(reverse(place, args=[code]))
    client_of(cast.coach).get(reverse("review:bench", args=[codes["clip[draft]"]]))
    assert Entry.objects.count() == before + 3

    found = rows(cast.welfare, swimmer=cast.swimmer.code)
    assert "Tom Varga saw notes Ines Falk" in found
    assert not any("Noor Haan" in line for line in found)
    assert "Marta Lind saw clip Noor Haan" in rows(cast.welfare, swimmer=cast.mate.code)


@pytest.mark.parametrize(
    "query",
    [
        {"person": "00000000-0000-0000-0000-000000000009"},
        {"person": "x"},
        {"swimmer": "' OR 1=1"},
        {"kind": "user"},
        {"action": "erased"},
        {"day": "yesterday"},
        {"of": "x"},
    ],
)
def test_what_is_not_on_offer_finds_nothing(cast: Cast, copy: Rendition, query: dict[str, str]):
    saw(copy, cast.coach, cast)

    assert rows(cast.welfare, **query) == []


def test_reading_it_stands_in_it(cast: Cast):
    read(cast.welfare, "/record/")
    read(cast.head_coach, "/record/")

    entries = Entry.objects.filter(thing="record").values_list("actor_code", "thing_code")
    codes = [(user.code, cast.club.code) for user in (cast.welfare, cast.head_coach)]
    assert list(entries) == codes
    assert "Greta Holm" in read(cast.welfare, "/record/")


@pytest.fixture
def confided(cast: Cast, copy: Rendition) -> Case:
    """What the officer did about a case, and a look that a coach took."""
    told = case(cast)
    saw(told, cast.welfare, cast)
    saw(copy, cast.welfare, cast)
    pursuing.write(told, words="x", state="looked into", by=cast.welfare, at=NOW)
    holding.hold(copy.recording, by=cast.welfare, at=NOW)
    suspending.suspend(cast.assistant, club=cast.club, by=cast.welfare, at=NOW)
    note(Entry.Action.MADE, told, at=NOW, by=cast.guardian, club=cast.club)
    saw(copy, cast.coach, cast)
    return told


def test_the_head_coach_reads_nothing_of_cases_suspensions_and_holds(cast: Cast, confided: Case):
    assert rows(cast.head_coach) == ["Marta Lind saw film Ines Falk"]
    page = read(cast.head_coach, "/record/")
    assert confided.number not in page
    assert "Wanda Okoro saw" not in page
    assert "suspension" not in page
    for kind in ("case", "suspension", "hold"):
        assert rows(cast.head_coach, kind=kind) == []
    assert rows(cast.head_coach, person=cast.welfare.code) == []
    assert rows(cast.head_coach, of=confided.code) == []


def test_the_officer_reads_them(cast: Cast, confided: Case):
    told = rows(cast.welfare)

    assert f"Wanda Okoro saw case {confided.number}" in told
    assert "Wanda Okoro made hold on a film lane 3.mp4" in told
    assert "Wanda Okoro made suspension Dov Merrin" in told
    assert len(told) == 7


def test_but_nothing_of_a_case_about_themselves(cast: Cast):
    secret = case(cast, reader=Case.Reader.SECOND)
    saw(secret, cast.second_recipient, cast)

    assert rows(cast.welfare) == []
    assert rows(cast.welfare, of=secret.code) == []


def test_an_officer_who_heads_the_club_reads_only_in_part(cast: Cast, confided: Case):
    cast.head_coach.memberships.update(user=cast.welfare)

    assert rows(cast.welfare) == ["Marta Lind saw film Ines Falk"]


def test_another_clubs_record_is_not_theirs(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)

    assert rows(cast.rival_coach) == []
    assert rows(cast.rival_coach, of=copy.code) == []


@pytest.mark.parametrize(
    ("name", "status"),
    [
        ("coach", 403),
        ("assistant", 403),
        ("guardian", 404),
        ("volunteer", 404),
        ("second_recipient", 404),
        ("second_adult", 404),
    ],
)
def test_others_do_not_read_it(cast: Cast, name: str, status: int):
    assert client_of(getattr(cast, name)).get("/record/").status_code == status


def test_what_is_gone_leaves_its_row(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)
    copy.delete()
    cast.coach.memberships.all().delete()
    User.objects.filter(pk=cast.coach.pk).update(name="Marta Gone")

    assert rows(cast.welfare) == ["Marta Gone saw film"]


def test_fifty_a_page_and_no_more_queries_for_more_rows(cast: Cast, copy: Rendition):
    client, counts = client_of(cast.welfare), []
    client.get("/record/")
    for more in (5, 60):
        for number in range(more):
            saw(copy, cast.coach, cast, minutes=number)
        with CaptureQueriesContext(connection) as asked:
            page = client.get("/record/").content.decode()
        counts.append(len(asked))
    assert counts[0] == counts[1]
    assert page.count("<tr>") == 51
    assert "?page=1" in page
    assert read(cast.welfare, "/record/?page=1").count("<tr>") == 17


def test_each_thing_can_be_asked_for(cast: Cast, copy: Rendition):
    saw(copy, cast.coach, cast)

    assert f'href="?of={copy.code}"' in read(cast.welfare, "/record/")
