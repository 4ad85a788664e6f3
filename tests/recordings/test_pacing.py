"""Slow motion: the rate at which the camera ran, beside the rate at which the film plays."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.recordings import listing, pacing, probing
from portal.recordings.models import Recording
from tests.cast import Cast, signed_in
from tests.media import film
from tests.recordings import filmed
from tests.recordings.films import remux

SLOW = filmed.FACTS | {"filmed_rate": 240.0}


def url(name: str, recording: Recording) -> str:
    return reverse(f"recordings:{name}", args=[recording.code])


@pytest.fixture
def recording(cast: Cast) -> Recording:
    return filmed.ready(cast, facts=SLOW)


def test_it_works(as_coach: Client, cast: Cast, recording: Recording):
    page = as_coach.get(url("sorting", recording)).content.decode()
    assert "filmed at 240 frames a second, and it plays 30" in page

    answer = as_coach.post(url("pace", recording), {"filmed_rate": "240.0"}, follow=True)

    recording.refresh_from_db()
    assert (recording.filmed_rate, pacing.slowed(recording)) == (240, 8)
    assert recording.facts["rate"] == 30
    words = answer.content.decode()
    assert "Kept: 30 frames a second, filmed at 240." in words
    assert "8 times slower than swum" in words
    assert "Which is right?" not in words
    entry = Entry.objects.get(thing="recording", action="changed")
    assert (entry.actor_code, entry.detail) == (cast.coach.code, {"filmed_rate": 240})


def test_it_plays_as_it_was_swum(as_coach: Client, recording: Recording):
    as_coach.post(url("pace", recording), {"filmed_rate": "30"})

    recording.refresh_from_db()
    assert (pacing.is_slowed(recording), pacing.doubt(recording)) == (False, None)
    assert listing.pace(recording) == "30 frames a second"


@pytest.mark.parametrize("claimed", [None, 30.0, 29.0])
def test_nobody_is_asked_where_the_file_raises_no_doubt(cast: Cast, as_coach: Client, claimed):
    recording = filmed.ready(cast, facts=filmed.FACTS | {"filmed_rate": claimed})

    assert "Which is right?" not in as_coach.get(url("sorting", recording)).content.decode()
    assert pacing.slowed(recording) == 1


@pytest.mark.parametrize("typed", ["", "fast", "0", "-240", "1001", "nan", "inf"])
def test_what_is_no_rate_changes_nothing(as_coach: Client, recording: Recording, typed: str):
    as_coach.post(url("pace", recording), {"filmed_rate": typed})

    recording.refresh_from_db()
    assert recording.filmed_rate is None


def test_an_assistant_may(cast: Cast, recording: Recording):
    signed_in(cast.assistant).post(url("pace", recording), {"filmed_rate": "120"})

    recording.refresh_from_db()
    assert pacing.slowed(recording) == 4


@pytest.mark.parametrize(
    ("told", "found"), [("240.000000", 240), ("fast", None), ("0", None), ("nan", None)]
)
def test_what_a_phone_writes_into_the_film(tmp_path: Path, told: str, found: float | None):
    tag = ["-movflags", "use_metadata_tags", "-metadata", f"com.android.capture.fps={told}"]
    source = remux(film(tmp_path / "film.mp4", frames=12), tmp_path / "told.mp4", after=tag)

    facts = probing.probe(source)

    assert (facts.filmed_rate, facts.rate) == (found, 30)
