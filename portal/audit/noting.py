"""Writing the record. Nothing in the portal changes or removes a row of it."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol
from uuid import UUID

from portal.audit.models import Entry


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
