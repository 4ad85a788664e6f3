"""The volunteer looks at footage for a while, for a reason that two people read at once."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.openness import telling
from portal.people.models import LONGEST_LOOK, Club, EmergencyLook, User


class TooLong(ValueError):
    """More than the hour that the database allows."""


@transaction.atomic
def begin(club: Club, *, reason: str, minutes: int, by: User, at: datetime) -> EmergencyLook:
    lasts = timedelta(minutes=minutes)
    if not timedelta() < lasts <= LONGEST_LOOK:
        raise TooLong(f"A look of {minutes} minutes. Ask for 1 to 60.")
    look = EmergencyLook.objects.create(user=by, club=club, reason=reason, at=at, until=at + lasts)
    note(Entry.Action.MADE, look, at=at, by=by, club=club, minutes=minutes)
    telling.emergency_look(look, at=at)
    return look


def end(look: EmergencyLook, *, by: User, at: datetime) -> None:
    """Before its time; nothing happens to one that is over."""
    if EmergencyLook.objects.filter(pk=look.pk, until__gt=at).update(until=at):
        note(Entry.Action.CHANGED, look, at=at, by=by, club=look.club, what="ended")
