from __future__ import annotations

from pathlib import Path

import pytest

from portal.jobs import claiming, queueing, running
from portal.jobs.models import Job
from portal.recordings import jobs
from portal.recordings.models import Recording, Rendition
from tests.cast import NOW, Cast
from tests.media import film
from tests.recordings.films import bring_in, everything_kept, mark


def job_for(kind: str, **payload: str) -> Job:
    queueing.enqueue(kind, key=f"{kind}:1", payload=payload, at=NOW)
    job = claiming.claim(queues=["media"], worker="w", at=NOW)
    assert job
    return job


def test_it_works(cast: Cast, tmp_path: Path):
    recording = bring_in(cast, film(tmp_path / "film.mp4", frames=30))

    jobs.prepare(job_for("recordings.prepare", recording=str(recording.code)), NOW)

    recording.refresh_from_db()
    assert recording.state == Recording.State.READY
    assert Job.objects.get().progress == 1

    clip = mark(cast, recording, 3, 9)
    jobs.prepare_clip(job_for("recordings.prepare_clip", clip=str(clip.code)), NOW)

    assert clip.renditions.get().kind == Rendition.Kind.FULL


def test_a_film_that_is_none_fails_at_once_and_says_why(cast: Cast, tmp_path: Path):
    path = tmp_path / "film.mp4"
    path.write_bytes(b"\x00\x00\x00\x18ftypmp42" + b"not what it says" * 100)
    recording = bring_in(cast, path)
    job = job_for("recordings.prepare", recording=str(recording.code))

    with pytest.raises(running.Hopeless, match="Copy it from the camera again"):
        jobs.prepare(job, NOW)

    recording.refresh_from_db()
    assert recording.state == Recording.State.FAILED
    assert "Copy it from the camera again" in recording.problem
    assert everything_kept() == [recording.original.name]


def test_a_full_disk_fails_the_job_and_not_the_recording(settings, cast: Cast, tmp_path: Path):
    recording = bring_in(cast, film(tmp_path / "film.mp4", frames=5))
    job = job_for("recordings.prepare", recording=str(recording.code))
    settings.RECORDING_SPARE_BYTES = 10**18

    with pytest.raises(running.Hopeless, match="no room left"):
        jobs.prepare(job, NOW)

    recording.refresh_from_db()
    assert (recording.state, recording.problem) == (Recording.State.WAITING, "")


def test_a_recording_that_was_ready_is_not_failed_by_a_later_run(cast: Cast, tmp_path: Path):
    recording = bring_in(cast, film(tmp_path / "film.mp4", frames=5))
    job = job_for("recordings.prepare", recording=str(recording.code))
    jobs.prepare(job, NOW)
    Path(recording.original.path).unlink()

    with pytest.raises(running.Hopeless, match="no longer kept"):
        jobs.prepare(job, NOW)

    recording.refresh_from_db()
    assert recording.state == Recording.State.READY


def test_a_clip_that_cannot_be_copied_leaves_its_recording_alone(cast: Cast, tmp_path: Path):
    recording = bring_in(cast, film(tmp_path / "film.mp4", frames=30))
    jobs.prepare(job_for("recordings.prepare", recording=str(recording.code)), NOW)
    clip = mark(cast, recording, 3, 9)
    Path(recording.original.path).unlink()

    with pytest.raises(running.Hopeless, match="no longer kept"):
        jobs.prepare_clip(job_for("recordings.prepare_clip", clip=str(clip.code)), NOW)

    recording.refresh_from_db()
    assert (recording.state, recording.problem) == (Recording.State.READY, "")
