"""Sweeping as a job."""

from __future__ import annotations

from datetime import datetime

from portal.doorway import listing
from portal.jobs.models import Job


def sweep(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    listing.sweep_all(at=at)
