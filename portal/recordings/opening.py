"""Opening a session, at a pool of the club or at one that was not written down yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Club, Squad, User
from portal.recordings.models import Pool, Session


@dataclass(frozen=True)
class Plan:
    """What somebody says about a session before anything was filmed.

    An empty course means the pool's own.
    """

    squad: Squad
    pool: Pool
    kind: str
    date: date
    course: str = ""
    theme: str = ""


@transaction.atomic
def open_session(plan: Plan, *, by: User, at: datetime) -> Session:
    session = Session.objects.create(
        squad=plan.squad,
        pool=plan.pool,
        kind=plan.kind,
        course=plan.course or plan.pool.course,
        date=plan.date,
        theme=plan.theme,
        created_by=by,
        created_at=at,
    )
    note(Entry.Action.MADE, session, at=at, by=by, club=plan.squad.club)
    return session


def pool_called(name: str, *, club: Club, course: str) -> Pool:
    """The club's pool of that name, however its letters were written, or a new one."""
    known = Pool.objects.filter(club=club, name__iexact=name).first()
    return known or Pool.objects.create(club=club, name=name, course=course or club.course)
