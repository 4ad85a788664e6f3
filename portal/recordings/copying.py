"""The clip's own copy, which families are shown: asking a worker for it, and asking again."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from portal.jobs import queueing
from portal.jobs.models import Job
from portal.recordings.models import Clip


def ask(clip: Clip, *, at: datetime) -> Job:
    """The job that makes it; asked twice it is the same job."""
    return queueing.enqueue(
        "recordings.prepare_clip", key=_key(clip), payload={"clip": str(clip.code)}, at=at
    )


def ask_for_returned(clip: Clip, *, at: datetime) -> None:
    """For a clip that was away for a while: a worker that came meanwhile has made nothing."""
    if not clip.renditions.exists():
        Job.objects.filter(key=_key(clip), state=Job.State.DONE).delete()
        ask(clip, at=at)


def ask_again(clip: Clip, *, at: datetime) -> None:
    """Put a job that failed back; any other is on its way already, or done.

    Raises queueing.NotFailed when it is being put back at this very moment.
    """
    for job in Job.objects.filter(key=_key(clip), state=Job.State.FAILED):
        queueing.retry(job, at=at)


def problems(clips: Iterable[Clip]) -> dict[int, str]:
    """Why there will be no copy, for people, by the id of the clip. One query."""
    by_key = {_key(clip): clip.id for clip in clips}
    failed = Job.objects.filter(key__in=by_key, state=Job.State.FAILED)
    return {by_key[key]: problem for key, problem in failed.values_list("key", "problem")}


def _key(clip: Clip) -> str:
    return f"clip:{clip.code}"
