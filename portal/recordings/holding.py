"""The welfare officer keeps a film from everybody else, at once and until it is let go.

A held film is neither thrown away nor cut down, and every way to its pictures asks for the hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording


@dataclass
class Hold:
    """Stands in the record as a thing of its own, with the recording's code: not everybody who
    reads of the recording there reads of the hold."""

    code: UUID


def hold(recording: Recording, *, by: User, at: datetime) -> bool:
    """False: it was held already, or thrown away."""
    free = Recording.objects.kept().filter(pk=recording.pk, held_at=None)
    if not free.update(held_at=at):
        return False
    club = recording.session.squad.club
    note(Entry.Action.MADE, Hold(recording.code), at=at, by=by, club=club)
    return True


def let_go(recording: Recording, *, by: User, at: datetime) -> bool:
    """False: nobody held it. From now on whoever could see it before sees it again."""
    if not Recording.objects.filter(pk=recording.pk, held_at__isnull=False).update(held_at=None):
        return False
    club = recording.session.squad.club
    note(Entry.Action.REMOVED, Hold(recording.code), at=at, by=by, club=club)
    return True
