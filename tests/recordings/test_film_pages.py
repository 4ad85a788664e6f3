"""Films, their times and their pictures, to those who may see them."""

from __future__ import annotations

from itertools import accumulate, pairwise
from pathlib import Path

import pytest
from django.core.cache import cache
from django.db.models import F
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.audit.noting import ONE_LOOK
from portal.kit.storage import path_of, poster_name, strip_name
from portal.recordings import cutting, throwing
from portal.recordings.models import Rendition
from portal.recordings.timing import steps
from tests.audit.seals import broken_seal
from tests.cast import NOW, Cast, signed_in
from tests.recordings import filmed

FILM = bytes(range(256)) * 4


def url(name: str, thing) -> str:
    return reverse(f"recordings:{name}", args=[thing.code])


def write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


@pytest.fixture
def light(cast: Cast) -> Rendition:
    """The copy of a whole recording, with its file and pictures."""
    recording = filmed.ready(cast)
    copy = recording.renditions.get()
    write(Path(copy.file.path), FILM)
    write(path_of(strip_name(recording.code)), b"strip")
    write(path_of(poster_name(recording.code)), b"poster")
    return copy


@pytest.fixture
def full(cast: Cast, light: Rendition) -> Rendition:
    """The copy of a clip that lies open to Ines's family."""
    clip = filmed.clip(cast, light.recording, cast.swimmer, first=60, last=119)
    clip.showings.create(swimmer=cast.swimmer, since=NOW)
    copy = filmed.copy(light.recording, clip)
    write(Path(copy.file.path), FILM)
    return copy


def test_it_works(as_coach: Client, light: Rendition):
    answer = as_coach.get(url("film", light))

    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "video/mp4"
    assert answer.headers["ETag"] == f'"{light.sha256}"'
    assert answer.getvalue() == FILM


def test_a_part_of_it(as_coach: Client, light: Rendition):
    answer = as_coach.get(url("film", light), headers={"Range": "bytes=10-19"})

    assert answer.status_code == 206
    assert answer.getvalue() == FILM[10:20]


@pytest.mark.parametrize("asked", ["bytes=0-", "bytes=10-19", "bytes=-100", "Bytes=0-"])
def test_who_saw_it_is_written_down_whatever_part_was_asked_for(
    cast: Cast, as_coach: Client, light: Rendition, asked: str
):
    as_coach.head(url("film", light))
    assert not Entry.objects.filter(action="saw").exists()

    as_coach.get(url("film", light), headers={"Range": asked}).getvalue()

    entry = Entry.objects.get(action="saw")
    assert (entry.actor_code, entry.thing_code) == (cast.coach.code, light.code)
    assert (entry.thing, entry.club_code) == ("rendition", cast.club.code)


def test_a_playing_is_written_down_once(cast: Cast, as_coach: Client, light: Rendition):
    for first in (0, 200, 400):
        as_coach.get(url("film", light), headers={"Range": f"bytes={first}-"}).getvalue()
    assert Entry.objects.filter(action="saw").count() == 1

    signed_in(cast.assistant).get(url("film", light)).getvalue()
    assert Entry.objects.filter(action="saw").count() == 2

    with broken_seal():
        Entry.objects.update(at=F("at") - ONE_LOOK)
    cache.clear()
    cache.clear()
    as_coach.get(url("film", light), headers={"Range": "bytes=600-"}).getvalue()
    assert Entry.objects.filter(action="saw").count() == 3


def test_the_times(as_coach: Client, full: Rendition):
    answer = as_coach.get(url("times", full))

    assert answer.json() == {
        "timescale": 90_000,
        "first_frame": 60,
        "start": 180_000,
        "steps": [[3000, 59]],
    }
    assert answer.headers["Cache-Control"] == "private, no-cache"


def test_times_that_are_known_are_not_sent_again(as_coach: Client, light: Rendition):
    held = as_coach.get(url("times", light)).headers["ETag"]

    answer = as_coach.get(url("times", light), headers={"If-None-Match": held})

    assert answer.status_code == 304
    assert answer.content == b""


@given(st.lists(st.integers(1, 5), max_size=40), st.integers(0, 90_000))
def test_steps_tell_every_time(gaps: list[int], start: int):
    times = list(accumulate(gaps, initial=start))

    told = steps(times)

    assert list(accumulate((t for t, n in told for _ in range(n)), initial=start)) == times
    assert all(before[0] != after[0] for before, after in pairwise(told))


@pytest.mark.parametrize(("view", "content"), [("strip", b"strip"), ("poster", b"poster")])
def test_the_pictures(as_coach: Client, light: Rendition, view: str, content: bytes):
    answer = as_coach.get(url(view, light.recording))

    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.getvalue() == content


def test_a_picture_that_is_gone_is_not_found(cast: Cast, as_coach: Client):
    assert as_coach.get(url("poster", filmed.ready(cast))).status_code == 404


def test_a_family_sees_the_clip_that_is_shown_to_it(cast: Cast, full: Rendition):
    client = signed_in(cast.guardian)

    assert client.get(url("film", full)).getvalue() == FILM
    assert client.get(url("times", full)).status_code == 200


def test_a_family_never_sees_the_whole_recording(cast: Cast, full: Rendition, light: Rendition):
    client = signed_in(cast.guardian)
    answers = [
        client.get(url("film", light)),
        client.get(url("times", light)),
        client.get(url("strip", light.recording)),
        client.get(url("poster", light.recording)),
    ]

    assert [answer.status_code for answer in answers] == [404] * 4


def ask(client: Client, copy: Rendition, view: str):
    thing = copy if view in ("film", "times") else copy.recording
    return client.get(url(view, thing))


VIEWS = ["film", "times", "strip", "poster"]


@pytest.mark.parametrize("view", VIEWS)
def test_an_assistant_may(cast: Cast, light: Rendition, view: str):
    answer = ask(signed_in(cast.assistant), light, view)

    assert answer.status_code == 200
    assert answer.getvalue()


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("name", ["other_coach", "rival_coach", "stranger", "mate_guardian"])
def test_others_find_nothing(cast: Cast, full: Rendition, view: str, name: str):
    assert ask(signed_in(cast.person(name)), full, view).status_code == 404
    assert not Entry.objects.filter(action="saw").exists()


@pytest.mark.parametrize("name", ["coach", "head_coach", "guardian"])
@pytest.mark.parametrize("view", ["film", "times"])
def test_the_copy_of_a_clip_that_was_removed_is_nobodys(
    cast: Cast, full: Rendition, view: str, name: str
):
    assert full.clip
    cutting.remove(full.clip, by=cast.coach, at=NOW)

    assert ask(signed_in(cast.person(name)), full, view).status_code == 404


@pytest.mark.parametrize("view", VIEWS)
def test_nothing_of_a_recording_that_was_thrown_away_is_seen(
    cast: Cast, as_coach: Client, light: Rendition, view: str
):
    throwing.throw_away(light.recording, by=cast.coach, at=NOW)

    assert ask(as_coach, light, view).status_code == 404


@pytest.mark.parametrize("view", VIEWS)
def test_who_is_not_signed_in_is_sent_to_sign_in(light: Rendition, view: str):
    assert ask(Client(), light, view).status_code == 302


@pytest.mark.parametrize("view", VIEWS)
def test_they_are_only_read(as_coach: Client, light: Rendition, view: str):
    thing = light if view in ("film", "times") else light.recording

    assert as_coach.post(url(view, thing)).status_code == 405
