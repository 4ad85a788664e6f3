"""Taking a job, keeping it, and saying how it ended: each is one conditional UPDATE.

Every change names the row as it expects to find it; whoever then changes no row has lost the
job to somebody else and must record nothing. Worker and attempt together name one holding.
A worker that dies says nothing: its lease runs out and the next worker takes the job.
"""

from __future__ import annotations

import os
import secrets
import socket
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Case, F, When
from django.utils.translation import gettext as _

from portal.jobs.models import Job, JobQuerySet

# Before the second and before the third attempt.
BACK_OFF = (timedelta(seconds=5), timedelta(seconds=20))
PROBLEM_LENGTH = 300


class LeaseLost(Exception):
    """The lease ran out and somebody else holds the job now, or has done it."""


def new_name() -> str:
    """For a worker. Unlike a process id, it is never used again."""
    return f"{socket.gethostname()[:30]}-{os.getpid()}-{secrets.token_hex(4)}"


def claim(*, queues: Sequence[str], worker: str, at: datetime) -> Job | None:
    """The job that has waited longest in the first of `queues` that has one due; the patient
    kinds of a queue come after all others."""
    patience = Case(When(kind__in=settings.PATIENT_JOBS, then=1), default=0)
    for queue in queues:
        waiting = Job.objects.claimable(at).filter(queue=queue).order_by(patience, "due_at", "id")
        while job := waiting.first():
            if _take(job, worker=worker, at=at):
                return job
    return None


def claim_one(code: UUID, *, worker: str, at: datetime) -> Job | None:
    """This job, if it is due and free."""
    job = Job.objects.claimable(at).filter(code=code).first()
    return job if job and _take(job, worker=worker, at=at) else None


def _take(job: Job, *, worker: str, at: datetime) -> bool:
    if job.attempts >= Job.MAX_ATTEMPTS:
        _give_up(job, at=at)
        return False
    return _change(
        job,
        _as_found(job),
        state=Job.State.RUNNING,
        attempts=job.attempts + 1,
        worker=worker,
        lease_until=_lease_from(at),
        progress=0,
        began_at=at,
    )


def _give_up(job: Job, *, at: datetime) -> None:
    """The last attempt's worker never came back: perhaps this very job kills it."""
    _change(
        job,
        _as_found(job),
        state=Job.State.FAILED,
        problem=_("The work was cut off %(count)d times and was not tried again.")
        % {"count": job.attempts},
        last_error=f"The lease of {job.worker} ran out in attempt {job.attempts}.",
        lease_until=None,
        ended_at=at,
    )


def renew(job: Job, *, at: datetime) -> bool:
    """Hold on for another lease. False: the job is no longer this worker's."""
    return _held(job).update(lease_until=_lease_from(at)) == 1


def advance(job: Job, *, share: float) -> bool:
    """Write down how much is done, 0 to 1. False: the job is no longer this worker's."""
    return _change(job, _held(job), progress=share)


def finish(job: Job, *, at: datetime) -> bool:
    return _change(
        job,
        _held(job),
        state=Job.State.DONE,
        progress=1,
        problem="",
        lease_until=None,
        ended_at=at,
    )


def fail(job: Job, *, problem: str, error: str, at: datetime) -> bool:
    """`problem` is for people to read, `error` for whoever runs the portal."""
    return _change(
        job,
        _held(job),
        state=Job.State.FAILED,
        problem=problem[:PROBLEM_LENGTH],
        last_error=error,
        lease_until=None,
        ended_at=at,
    )


def fail_or_requeue(job: Job, *, problem: str, error: str, at: datetime) -> bool:
    """Another attempt after a pause, or failed if this was the last."""
    if job.attempts >= Job.MAX_ATTEMPTS:
        return fail(job, problem=problem, error=error, at=at)
    return _change(
        job,
        _held(job),
        state=Job.State.QUEUED,
        due_at=at + BACK_OFF[job.attempts - 1],
        worker="",
        last_error=error,
        lease_until=None,
        progress=0,
    )


def put_back(job: Job, *, at: datetime) -> bool:
    """Due at once, the attempt given back: it was the worker that stopped, not the job. So a
    first attempt, too, may find what an earlier run began."""
    is_back = _held(job).update(
        state=Job.State.QUEUED,
        attempts=F("attempts") - 1,
        due_at=at,
        worker="",
        lease_until=None,
        progress=0,
    )
    return is_back == 1


def _lease_from(at: datetime) -> datetime:
    return at + timedelta(seconds=settings.JOB_LEASE_SECONDS)


def _as_found(job: Job) -> JobQuerySet:
    return Job.objects.filter(
        pk=job.pk, state=job.state, attempts=job.attempts, lease_until=job.lease_until
    )


def _held(job: Job) -> JobQuerySet:
    return Job.objects.filter(
        pk=job.pk, state=Job.State.RUNNING, worker=job.worker, attempts=job.attempts
    )


def _change(job: Job, rows: JobQuerySet, **fields: Any) -> bool:  # noqa: ANN401 - columns
    """Write `fields` if the row is still among `rows`, and into `job` only then."""
    if rows.update(**fields) != 1:
        return False
    for name, value in fields.items():
        setattr(job, name, value)
    return True
