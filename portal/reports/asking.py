"""Asking for a sheet, and what has become of the one that was asked for last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.jobs.models import Job
from portal.people.models import User
from portal.recordings.models import Session
from portal.reports import gathering
from portal.reports.gathering import Content
from portal.reports.models import Sheet


class State(StrEnum):
    WAITING = "waiting"
    READY = "ready"
    STALE = "stale"
    """Something on it has changed since, a family's answer perhaps: it is not handed out."""
    FAILED = "failed"


@dataclass(frozen=True)
class Asked:
    """A session's newest sheet, with its job as long as it is not made."""

    sheet: Sheet
    job: Job | None
    state: State

    @property
    def problem(self) -> str:
        return self.job.problem if self.job else ""


def ask(session: Session, *, by: User, at: datetime) -> Sheet:
    """The row alone; whoever calls puts its job into the queue in the same transaction."""
    sheet = Sheet.objects.create(session=session, asked_by=by, asked_at=at)
    note(Entry.Action.MADE, sheet, at=at, by=by, club=session.squad.club)
    return sheet


def newest(content: Content) -> Asked | None:
    """`content` is what a sheet would say today. Two queries."""
    sheets = Sheet.objects.filter(session=content.session).select_related("asked_by")
    sheet = sheets.first()
    if sheet is None:
        return None
    if sheet.file:
        stands = sheet.made_of == content.fingerprint()
        return Asked(sheet, None, State.READY if stands else State.STALE)
    job = Job.objects.filter(key=sheet.job_key).first()
    is_lost = job is None or job.state == Job.State.FAILED
    return Asked(sheet, job, State.FAILED if is_lost else State.WAITING)


def stands(sheet: Sheet, *, at: datetime) -> bool:
    """The PDF says what a new one would say. Asked at each request, so that a review taken back
    or a no to pictures holds at once."""
    content = gathering.content(sheet.session, at=at)
    return bool(sheet.file) and sheet.made_of == content.fingerprint()
