"""Writing the record. Nothing in the portal changes or removes a row of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Protocol
from uuid import UUID

from django.core.cache import cache

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
    """Write that `by` saw `thing`, unless that was written a short while ago.

    Two queries, and none while the cache remembers it; of what the cache forgot, or another
    process's own cache never knew, the table still knows.
    """
    key = f"look:{by.code.hex}:{thing.code.hex}"
    written = cache.get(key)
    if written is not None and at - ONE_LOOK < written <= at:
        return
    kind = type(thing).__name__.lower()
    looks = Entry.objects.filter(
        thing=kind, thing_code=thing.code, action=Entry.Action.SAW, actor_code=by.code
    )
    written = looks.filter(at__gt=at - ONE_LOOK).values_list("at", flat=True).last()
    if written is None:
        note(Entry.Action.SAW, thing, at=at, by=by, club=club)
    cache.set(key, written or at, ONE_LOOK.total_seconds())
