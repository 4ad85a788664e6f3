"""How far a recording is on its way to being sorted, and in which order films are made ready."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from numpy.typing import NDArray
from PIL import Image

from portal.jobs import claiming, queueing
from portal.jobs.models import Job
from portal.kit import storage
from portal.recordings import copying, encoding, listing, preparing
from portal.recordings.models import Recording
from tests.cast import NOW, Cast
from tests.media import film, read_number
from tests.recordings import filmed
from tests.recordings.films import bring_in, make_ready


def wait(recording: Recording, *, at: datetime = NOW) -> Job:
    return queueing.enqueue(
        "recordings.prepare",
        key=listing.job_key(recording),
        payload={"recording": str(recording.code)},
        at=at,
    )


def claim() -> Job:
    job = claiming.claim(queues=["media"], worker="w", at=NOW + timedelta(hours=1))
    assert job
    return job


def stage(recording: Recording, *, after: timedelta) -> str:
    began = Job.objects.get().began_at
    assert began
    [take] = listing.takes([recording], at=began + after)
    return take.stage


def test_it_works(cast: Cast):
    recording = filmed.recording(cast)
    wait(recording)
    [take] = listing.takes([recording], at=NOW)
    assert take.stage == "Being made ready as soon as it is its turn. You may leave."
    claim()

    Job.objects.update(progress=0.25)

    words = stage(recording, after=timedelta(minutes=1))
    assert words == "Being made ready, 25 of 100, about 3 minutes left. You may leave."


@pytest.mark.parametrize(
    ("share", "minutes", "said"),
    [
        (0.0, 1, "Being made ready, 0 of 100. You may leave."),
        (0.04, 1, "Being made ready, 4 of 100. You may leave."),
        (0.5, 1, "50 of 100, about 1 minute left."),
        (0.9, 1, "90 of 100, less than a minute left."),
        (1.0, 1, "100 of 100, less than a minute left."),
        (0.1, 10, "about 90 minutes left."),
    ],
)
def test_what_nobody_can_know_is_not_told(cast: Cast, share: float, minutes: int, said: str):
    recording = filmed.recording(cast)
    wait(recording)
    claim()
    Job.objects.update(progress=share)

    assert said in stage(recording, after=timedelta(minutes=minutes))


def test_a_second_attempt_counts_anew(cast: Cast):
    recording = filmed.recording(cast)
    wait(recording)
    job = claim()
    claiming.fail_or_requeue(job, problem="", error="", at=NOW)
    later = NOW + timedelta(hours=5)

    again = claiming.claim(queues=["media"], worker="v", at=later)

    assert again
    assert again.began_at == later


def test_the_page_tells_it(cast: Cast, as_coach: Client):
    recording = filmed.recording(cast)
    wait(recording)
    claim()
    Job.objects.update(progress=0.5)

    assert "Being made ready, 50 of 100" in as_coach.get(address(cast)).content.decode()


def test_every_film_can_be_sorted_before_any_clip_has_its_own_copy(cast: Cast):
    """Also where the clip was cut long before the other films came in."""
    clip = filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    copying.ask(clip, at=NOW - timedelta(hours=1))
    films = [filmed.recording(cast) for _ in range(3)]
    for number, one in enumerate(films):
        wait(one, at=NOW + timedelta(minutes=number))

    order = [claim().key for _ in range(4)]

    assert order == [*map(listing.job_key, films), f"clip:{clip.code}"]


def test_a_long_film_is_seen_before_it_can_be_sorted(
    cast: Cast, as_coach: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """Of sixteen seconds here; the first look shows frames of the film, in order."""
    monkeypatch.setattr(preparing, "LONG_SECONDS", 10)
    source = film(tmp_path / "long.mp4", frames=480, options={"g": "16", "preset": "ultrafast"})
    recording = bring_in(cast, source)
    wait(recording)
    seen: list[int] = []
    words = []

    def look(_share: float) -> None:
        if not seen:
            with Image.open(storage.path_of(storage.strip_name(recording.code))) as picture:
                assert picture.size == (800, 180)
                seen.extend(tiles(np.asarray(picture.convert("RGB"))))
            words.append(as_coach.get(address(cast)).content.decode())

    preparing.prepare(recording, at=NOW, report=look)

    assert seen == sorted(set(seen))
    assert (len(seen), seen[0], seen[-1]) == (10, 0, 432)
    assert "A first look at what is on it" in words[0]
    recording.refresh_from_db()
    assert recording.strip["count"] == 20
    assert "is_early" not in recording.strip
    assert "A first look" not in as_coach.get(address(cast)).content.decode()


def tiles(shown: NDArray[np.uint8]) -> list[int]:
    places = [(number % 5 * 160, number // 5 * 90) for number in range(10)]
    return [read_number(shown[y : y + 90, x : x + 160], scale=0.5) for x, y in places]


def test_without_a_first_look_nothing_is_lost(
    cast: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(preparing, "LONG_SECONDS", 0)

    def fail(*_words: object, **_more: object) -> Path:
        raise encoding.Killed(-9)

    monkeypatch.setattr(encoding, "first_look", fail)

    recording = make_ready(cast, film(tmp_path / "film.mp4", frames=20))

    assert recording.state == Recording.State.READY


def address(cast: Cast) -> str:
    return reverse("recordings:session", args=[cast.session.code])
