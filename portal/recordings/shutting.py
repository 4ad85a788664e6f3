"""Film that families never see, since somebody without consent is in it."""

from __future__ import annotations

from datetime import datetime

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording


def keep_from_families(recording: Recording, *, by: User, at: datetime) -> None:
    if _mark(recording, not_to_be_shown=True):
        _note(recording, "not to be shown", by=by, at=at)


def let_families_see(recording: Recording, *, by: User, at: datetime) -> None:
    """Nobody without consent is in it after all."""
    if _mark(recording, not_to_be_shown=False):
        _note(recording, "may be shown", by=by, at=at)


def _mark(recording: Recording, *, not_to_be_shown: bool) -> bool:
    """False: it was so already."""
    other = Recording.objects.filter(pk=recording.pk, not_to_be_shown=not not_to_be_shown)
    return bool(other.update(not_to_be_shown=not_to_be_shown))


def _note(recording: Recording, what: str, *, by: User, at: datetime) -> None:
    club = recording.session.squad.club
    note(Entry.Action.CHANGED, recording, at=at, by=by, club=club, what=what)
