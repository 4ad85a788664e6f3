"""Doing one job: the function its kind names, a heartbeat beside it, and how it ended.

The function runs outside any transaction, because film work under SQLite's write lock would
stop every page. It may run twice, so it must be written to leave one effect.
"""

from __future__ import annotations

import logging
import signal
import threading
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db import Error, connection
from django.utils import timezone
from django.utils.translation import gettext as _

from portal.jobs import claiming
from portal.jobs.kinds import function_of
from portal.jobs.models import Job

log = logging.getLogger(__name__)

BEATS_PER_LEASE = 3


class Hopeless(Exception):
    """No further attempt can help; the message is for people to read."""


def run_one(code: UUID, *, worker: str, at: datetime) -> bool:
    """Do this job if it is due and free."""
    job = claiming.claim_one(code, worker=worker, at=at)
    return job is not None and _run_claimed(job, at=at)


def answer(code: UUID, *, worker: str, at: datetime) -> bool:
    """What a bell asks for: the most urgent job of the queue in which this one waits. As many
    are done as bells ring, whichever rang first."""
    queue = Job.objects.filter(code=code).values_list("queue", flat=True).first()
    job = claiming.claim(queues=[queue], worker=worker, at=at) if queue else None
    return job is not None and _run_claimed(job, at=at)


def _run_claimed(job: Job, *, at: datetime) -> bool:
    try:
        run(job, at=at)
    except SystemExit:
        # So Celery stops a process that may not finish; what the job had started is gone.
        put_back(job)
        raise
    return True


def run(job: Job, *, at: datetime) -> None:
    """Do a claimed job and write down how it ended, if it is still this worker's by then.

    Times after the work are read from the clock, not from `at`: the work takes time.
    """
    with heartbeat(job):
        is_recorded = _do(job, at=at)
    if is_recorded:
        log.info("job ended", extra={**_named(job), "state": job.state, "attempt": job.attempts})
    else:
        log.warning("job taken over, nothing recorded", extra=_named(job))


def put_back(job: Job) -> None:
    """Its worker stops in the midst of it; somebody else may take it at once."""
    # The connection may have been left in the middle of a statement.
    connection.close()
    if claiming.put_back(job, at=timezone.now()):
        log.info("job put back", extra=_named(job))


def _named(job: Job) -> dict[str, object]:
    return {"kind": job.kind, "job": job.code}


def _do(job: Job, *, at: datetime) -> bool:
    try:
        function_of(job.kind)(job, at)
    except claiming.LeaseLost:
        return False
    except Hopeless as error:
        return claiming.fail(
            job, problem=str(error), error=traceback.format_exc(), at=timezone.now()
        )
    except Exception as error:  # noqa: BLE001 - a job may raise anything; the row says what
        log.warning("job broke", extra={**_named(job), "error": type(error).__name__})
        return claiming.fail_or_requeue(
            job,
            problem=_("This did not work, for a reason on our side. It was tried %(count)d times.")
            % {"count": job.attempts},
            error=traceback.format_exc(),
            at=timezone.now(),
        )
    return claiming.finish(job, at=timezone.now())


def report(job: Job, share: float) -> None:
    """Tell how much is done, 0 to 1; written at whole percents. Raises LeaseLost when the job
    has become somebody else's, so that the work stops."""
    share = round(min(max(share, 0.0), 1.0), 2)
    if share != job.progress and not claiming.advance(job, share=share):
        raise claiming.LeaseLost(
            f"Job {job.code} is no longer held by {job.worker}. Stop; nothing of it is recorded."
        )


@contextmanager
def heartbeat(job: Job) -> Iterator[None]:
    """Renews the lease from a thread of its own as long as the block runs."""
    is_over = threading.Event()
    thread = threading.Thread(target=_beat, args=(job, is_over), name="heartbeat", daemon=True)
    thread.start()
    try:
        yield
    finally:
        is_over.set()
        thread.join()


def _beat(job: Job, is_over: threading.Event) -> None:
    # Signals are for the thread that does the work: this one would swallow its wake-up.
    signal.pthread_sigmask(signal.SIG_BLOCK, signal.valid_signals())
    try:
        while not is_over.wait(settings.JOB_LEASE_SECONDS / BEATS_PER_LEASE):
            if not _renew(job):
                return
    finally:
        connection.close()


def _renew(job: Job) -> bool:
    try:
        return claiming.renew(job, at=timezone.now())
    except Error as error:
        # One missed beat is no lost lease; the next, on a new connection, is due before.
        connection.close()
        log.warning("no heartbeat", extra={**_named(job), "error": type(error).__name__})
        return True
