"""Rebuilding as a job."""

from __future__ import annotations

import logging
from datetime import datetime

from portal.items import rebuilding
from portal.jobs.models import Job

log = logging.getLogger(__name__)


def rebuild(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    """Somebody has to look into it if anything was wrong: publishing keeps all in step."""
    if rebuilding.rebuild():
        log.warning("progress put right", extra={"job": job.code})


def follow(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    """The words are loaded on a floor below, which knows of no summaries."""
    rebuilding.follow_merges()
