"""A clip that its swimmer or their family does not want to be seen: hidden at once, from
everybody but the welfare officer, without anybody asking why."""

from __future__ import annotations

from datetime import datetime

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Clip


def hide(clip: Clip, *, by: User, at: datetime) -> None:
    """Nothing happens to one that is hidden already: it stays the wish of who asked first."""
    if Clip.objects.filter(pk=clip.pk, hidden_at=None).update(hidden_at=at, hidden_by=by):
        _note(clip, "hidden", by=by, at=at)


def show_again(clip: Clip, *, by: User, at: datetime) -> bool:
    """Only for whoever asked for the hiding: nobody else's consent outweighs it. False: nothing
    was hidden at the wish of `by`."""
    if not Clip.objects.filter(pk=clip.pk, hidden_by=by).update(hidden_at=None, hidden_by=None):
        return False
    _note(clip, "shown again", by=by, at=at)
    return True


def _note(clip: Clip, what: str, *, by: User, at: datetime) -> None:
    club = clip.recording.session.squad.club
    note(Entry.Action.CHANGED, clip, at=at, by=by, club=club, what=what)
