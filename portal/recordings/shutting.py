"""Film that families never see, since somebody without consent is in it."""

from __future__ import annotations

from datetime import datetime

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording


def turn(recording: Recording, *, by: User, at: datetime) -> None:
    """To "not to be shown", or back from it."""
    recording.not_to_be_shown = not recording.not_to_be_shown
    recording.save(update_fields=["not_to_be_shown"])
    club = recording.session.squad.club
    what = "not to be shown" if recording.not_to_be_shown else "may be shown"
    note(Entry.Action.CHANGED, recording, at=at, by=by, club=club, what=what)
