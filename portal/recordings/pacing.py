"""Slow motion: a film may be taken at one rate and play at another, and figures in seconds are
only right for somebody who knows both. The file is asked first, a person has the last word."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Recording

LEAST_RATE, MOST_RATE = 1.0, 1000.0
# A camera's 240 frames a second may be 239.5; slow motion is never slower by so little.
SAME_PACE = 0.1


def slowed(recording: Recording) -> float:
    """How many times slower it plays than it was swum; a second of it is 1 / slowed of life."""
    plays = recording.facts.get("rate")
    return recording.filmed_rate / plays if recording.filmed_rate and plays else 1.0


def is_slowed(recording: Recording) -> bool:
    return abs(slowed(recording) - 1) > SAME_PACE


def doubt(recording: Recording) -> float | None:
    """Frames a second at which the file says it was taken, where it plays at another rate and
    nobody has said yet which is right."""
    claimed, plays = recording.facts.get("filmed_rate"), recording.facts.get("rate")
    if recording.filmed_rate or not claimed or not plays:
        return None
    return claimed if abs(claimed / plays - 1) > SAME_PACE else None


@transaction.atomic
def say(recording: Recording, *, filmed_rate: float, by: User, at: datetime) -> None:
    """`filmed_rate`: frames a second in life. Frames and their times in the film stay."""
    recording.filmed_rate = filmed_rate
    recording.save(update_fields=["filmed_rate"])
    club = recording.session.squad.club
    note(Entry.Action.CHANGED, recording, at=at, by=by, club=club, filmed_rate=round(filmed_rate))
