"""Sheets are made as jobs: setting letters takes longer than a page may."""

from __future__ import annotations

from datetime import datetime

from portal.jobs.models import Job
from portal.jobs.running import Hopeless
from portal.kit.storage import NoRoom
from portal.reports import printing, sheets
from portal.reports.models import Sheet


def make_sheet(job: Job, at: datetime) -> None:
    """Payload: `sheet`, its code. One that a newer sheet has replaced needs no paper."""
    sheet = (
        Sheet.objects.filter(code=job.payload["sheet"])
        .select_related("session__squad__club")
        .first()
    )
    if sheet is None:
        return
    try:
        sheets.make(sheet, at=at)
    except (printing.CannotPrint, sheets.NothingToPrint, NoRoom) as problem:
        raise Hopeless(str(problem)) from problem
