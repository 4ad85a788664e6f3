"""Throwing away what shows nothing. The file itself goes when the club's days are over."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording, Showing


class Refused(Exception):
    """Why the recording must stay; the message is for people."""


@transaction.atomic
def throw_away(recording: Recording, *, by: User, at: datetime) -> None:
    """The recording and its clips disappear from every page, unless a family sees one of them."""
    if recording.held_at:
        raise Refused(
            _("The welfare officer holds this film, so it stays. Ask them if you think otherwise.")
        )
    shown = Showing.objects.filter(clip__recording=recording, clip__removed_at=None)
    families = shown.values("swimmer").distinct().count()
    if families:
        raise Refused(
            ngettext(
                "A clip of it lies open to the family of %(count)d swimmer. "
                "Take that review back first.",
                "Clips of it lie open to the families of %(count)d swimmers. "
                "Take those reviews back first.",
                families,
            )
            % {"count": families}
        )
    kept = Recording.objects.kept().filter(pk=recording.pk)
    if kept.update(thrown_away_at=at):
        recording.clips.kept().update(removed_at=at)
        club = recording.session.squad.club
        note(Entry.Action.REMOVED, recording, at=at, by=by, club=club)
