"""What is done about a concern: notes, holding film, shutting somebody out. Each leaves a line in
the case, and in the record only that it was done."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.openness import telling
from portal.openness.models import Case, Line
from portal.people import suspending
from portal.people.models import Club, Suspension, User
from portal.recordings import holding
from portal.recordings.models import Recording

What = Line.What


@transaction.atomic
def write(case: Case, *, words: str, state: str, by: User, at: datetime) -> None:
    """A note, another state, or both."""
    if words:
        _add(case, What.NOTE, words=words, by=by, at=at)
    if state != case.state:
        Case.objects.filter(pk=case.pk).update(state=state)
        _add(case, What(state), by=by, at=at)
        note(Entry.Action.CHANGED, case, at=at, by=by, club=case.club, state=state)


def open_own(
    club: Club, *, reader: Case.Reader, subject: Case.Subject, words: str, by: User, at: datetime
) -> Case:
    """A recipient acts on what nobody told: then the reason is the concern."""
    case = Case.objects.create(
        club=club,
        reader=reader,
        subject=subject,
        words=words,
        may_answer=False,
        told_by=by,
        at=at,
        state=Case.State.LOOKED_INTO,
    )
    note(Entry.Action.MADE, case, at=at, by=by, club=club)
    return case


@transaction.atomic
def hold(recording: Recording, *, case: Case, words: str, by: User, at: datetime) -> None:
    if holding.hold(recording, by=by, at=at):
        _add(case, What.HELD, words=words, thing=recording.code, by=by, at=at)


@transaction.atomic
def let_go(recording: Recording, *, case: Case, words: str, by: User, at: datetime) -> None:
    if holding.let_go(recording, by=by, at=at):
        _add(case, What.LET_GO, words=words, thing=recording.code, by=by, at=at)


@transaction.atomic
def suspend(
    user: User, *, club: Club, case: Case, words: str, by: User, at: datetime
) -> Suspension:
    suspension = suspending.suspend(user, club=club, by=by, at=at)
    _add(case, What.SUSPENDED, words=words, thing=suspension.code, by=by, at=at)
    telling.suspended(suspension, at=at)
    return suspension


@transaction.atomic
def let_back(suspension: Suspension, *, case: Case, words: str, by: User, at: datetime) -> None:
    if suspending.lift(suspension, by=by, at=at):
        _add(case, What.LET_BACK, words=words, thing=suspension.code, by=by, at=at)


def _add(
    case: Case,
    what: What,
    *,
    by: User,
    at: datetime,
    words: str = "",
    thing: UUID | None = None,
) -> None:
    case.lines.create(what=what, words=words, thing_code=thing, by=by, at=at)
