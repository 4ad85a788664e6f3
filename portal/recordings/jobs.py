"""Film work as jobs: load, call the verb, and tell people when it cannot be done."""

from __future__ import annotations

from datetime import datetime
from functools import partial

from portal.jobs import running
from portal.jobs.models import Job
from portal.kit.storage import NoRoom
from portal.recordings import dropping, preparing, receiving, sweeping
from portal.recordings.models import Clip, Recording
from portal.recordings.probing import Unusable


def prepare(job: Job, at: datetime) -> None:
    """Payload: `recording`, its code."""
    recording = Recording.objects.get(code=job.payload["recording"])
    try:
        preparing.prepare(recording, at=at, report=partial(running.report, job))
    except Unusable as problem:
        preparing.give_up(recording, problem=str(problem), at=at)
        raise running.Hopeless(str(problem)) from problem
    except NoRoom as problem:
        # The film may be good: only the job has failed, and may be tried again.
        raise running.Hopeless(str(problem)) from problem


def prepare_clip(job: Job, at: datetime) -> None:
    """Payload: `clip`, its code."""
    clip = Clip.objects.get(code=job.payload["clip"])
    try:
        preparing.prepare_clip(clip, at=at, report=partial(running.report, job))
    except (Unusable, NoRoom) as problem:
        raise running.Hopeless(str(problem)) from problem


def drop_originals(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    dropping.drop_due(at=at)
    sweeping.sweep(at=at)


def sweep_arrivals(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    receiving.sweep(at=at)
