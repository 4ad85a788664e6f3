"""Doing queued work at once, where a page would leave it to the workers."""

from __future__ import annotations

import time

from django.utils import timezone

from portal.jobs import running
from portal.jobs.models import Job

WORKER = "demo"
PAUSE_SECONDS = 0.2


class NotDone(Exception):
    """A job of the demo failed."""


def finish(job: Job) -> None:
    """Do the job here, or wait for the worker that has it already. Raises NotDone."""
    while job.state not in (Job.State.DONE, Job.State.FAILED):
        if not running.run_one(job.code, worker=WORKER, at=timezone.now()):
            time.sleep(PAUSE_SECONDS)
        job.refresh_from_db()
    if job.state == Job.State.FAILED:
        raise NotDone(
            f"{job} failed: {job.problem} {job.last_error}".strip()
            + " Mend the cause, put the job back, and call the command again."
        )
