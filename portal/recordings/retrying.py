"""Trying once more to make a recording ready."""

from __future__ import annotations

from datetime import datetime

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording


def put_back(recording: Recording, *, by: User, at: datetime) -> None:
    """A recording that had failed waits again. Its job is the caller's to ring for."""
    failed = Recording.objects.filter(pk=recording.pk, state=Recording.State.FAILED)
    if failed.update(state=Recording.State.WAITING, problem=""):
        club = recording.session.squad.club
        note(
            Entry.Action.CHANGED, recording, at=at, by=by, club=club, state=Recording.State.WAITING
        )
