"""Writing the record. Nothing in the portal changes or removes a row of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Protocol
from uuid import UUID

from portal.audit.models import Entry

# A player asks for one film in many parts; those of so long are one look at it.
ONE_LOOK = timedelta(minutes=15)


class Coded(Protocol):
    code: UUID


def note(
    action: Entry.Action,
    thing: Coded,
    *,
    at: datetime,
    by: Coded | None,
    club: Coded | None = None,
    **detail: str | int,
) -> None:
    """Write that `by` (None: the portal itself) did `action` to `thing`.

    `detail` holds codes, counts and states, never names, addresses or what somebody wrote.
    """
    Entry.objects.create(
        at=at,
        action=action,
        actor_code=by.code if by else None,
        club_code=club.code if club else None,
        thing=type(thing).__name__.lower(),
        thing_code=thing.code,
        detail=detail,
    )


def note_look(thing: Coded, *, at: datetime, by: Coded, club: Coded) -> None:
    """Write that `by` saw `thing`, unless that was written a short while ago. Two queries."""
    kind = type(thing).__name__.lower()
    looks = Entry.objects.filter(thing=kind, thing_code=thing.code, at__gt=at - ONE_LOOK)
    if not looks.filter(action=Entry.Action.SAW, actor_code=by.code).exists():
        note(Entry.Action.SAW, thing, at=at, by=by, club=club)
