"""Who swims in a clip, as far as the rules about its pictures ask.

It is asked for every stretch of film and on most pages. In SQL it costs a third of what building
the same question from the models does; `showing` says what follows from it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db import connection

from portal.people import consenting
from portal.people.models import Consent

FILM, SHOW = Consent.Purpose.FILM.value, Consent.Purpose.SHOW.value


@dataclass
class Company:
    """Those who swim in one clip."""

    recording: int = 0
    is_hidden: bool = False
    has_unfilmed: bool = False
    has_left: bool = False
    has_unshown: bool = False

    @property
    def may_be_shown(self) -> bool:
        return not self.has_unfilmed and not self.has_unshown

    @property
    def shuts_the_whole(self) -> bool:
        """The recording from end to end has this clip in it."""
        return self.has_unfilmed or self.is_hidden


def of_clips(clips: Collection[int], *, on: date) -> dict[int, Company]:
    return _companies(OF_CLIPS, clips, on=on)


def of_recordings(recordings: Collection[int], *, on: date) -> dict[int, Company]:
    """By the ids of their clips, those that were removed too: they are on the film."""
    return _companies(OF_RECORDINGS, recordings, on=on)


def _companies(sql: str, ids: Collection[int], *, on: date) -> dict[int, Company]:
    """One query. A clip in which nobody swims is a company of its own when it is looked up."""
    companies: dict[int, Company] = defaultdict(Company)
    if not ids:
        return companies
    with connection.cursor() as cursor:
        marks = ", ".join(["%s"] * len(ids))
        cursor.execute(sql.replace("THESE", marks), [FILM, SHOW, *ids])
        rows = cursor.fetchall()
    said: dict[tuple[int, int], list[tuple[str, bool]]] = defaultdict(list)
    for row in rows:
        clip, recording, hidden, swimmer, left, born, own, purpose, given, by, until = row
        company, stands = companies[clip], said[clip, swimmer]
        company.recording = recording
        company.is_hidden |= hidden is not None
        company.has_left |= left is not None and left <= on.isoformat()
        birth = date.fromisoformat(born)
        ends = date.fromisoformat(until) if until else None
        if purpose and consenting.counts(until=ends, born=birth, own=own, by=by, on=on):
            stands.append((purpose, bool(given)))
    for (clip, _swimmer), answers in said.items():
        companies[clip].has_unfilmed |= (FILM, False) in answers
        refused = (SHOW, False) in answers
        companies[clip].has_unshown |= refused or (SHOW, True) not in answers
    return companies


_SELECT = """
    SELECT clips.id, clips.recording_id, CAST(clips.hidden_at AS text), swimmers.id,
        CAST(swimmers.left_on AS text), CAST(swimmers.born AS text), swimmers.user_id,
        answers.purpose, answers.is_given, answers.answered_by_id, CAST(answers.until AS text)
    FROM recordings_clip clips
    JOIN recordings_clip_swimmers places ON places.clip_id = clips.id
    JOIN people_swimmer swimmers ON swimmers.id = places.swimmer_id
    LEFT JOIN people_consent answers ON answers.swimmer_id = swimmers.id
        AND answers.is_newest AND answers.purpose IN (%s, %s)
"""
OF_CLIPS = _SELECT + "WHERE clips.id IN (THESE)"
OF_RECORDINGS = _SELECT + "WHERE clips.recording_id IN (THESE)"
