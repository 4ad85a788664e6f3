"""Putting work into the queue. The row is written in the caller's transaction: a page that
rolls back leaves no job behind, and no worker hears of one before the page's own rows stand."""

from __future__ import annotations

from datetime import datetime

from portal.jobs import doorbell
from portal.jobs.kinds import queue_of
from portal.jobs.models import Job


class KeyTaken(Exception):
    """Two kinds of work were given one key."""


class NotFailed(Exception):
    """Only a failed job can be put back; any other is waiting, running or done."""


def enqueue(kind: str, *, key: str, payload: dict[str, str], at: datetime) -> Job:
    """The job for this piece of work, due at once. The same key again is the same job,
    whatever has become of it: nothing is done twice, and nothing failed starts anew."""
    job, is_new = Job.objects.get_or_create(
        key=key,
        defaults={
            "kind": kind,
            "queue": queue_of(kind),
            "payload": payload,
            "due_at": at,
            "created_at": at,
        },
    )
    if job.kind != kind:
        raise KeyTaken(
            f"The key {key!r} belongs to a job of the kind {job.kind!r}, not {kind!r}. "
            "Begin each kind's keys with its own word."
        )
    if is_new:
        doorbell.ring(job)
    return job


def retry(job: Job, *, at: datetime) -> None:
    """Put a failed job back with all its attempts."""
    is_back = Job.objects.filter(pk=job.pk, state=Job.State.FAILED).update(
        state=Job.State.QUEUED,
        attempts=0,
        due_at=at,
        worker="",
        lease_until=None,
        progress=0,
        problem="",
        ended_at=None,
    )
    job.refresh_from_db()
    if not is_back:
        raise NotFailed(
            f"Job {job.code} is {job.state!r}, not 'failed'. Only a failed job can be put back."
        )
    doorbell.ring(job)
