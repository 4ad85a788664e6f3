"""What a page of notes asks about each of its moments, in SQL.

It is the page that families open most. Built from the models, these questions cost as much as
a whole bare page each time; in SQL, a tenth. They hold no rule of who may see what.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db import connection

from portal.recordings.models import Rendition
from portal.recordings.timing import unpack_times
from portal.review.models import Review


@dataclass(frozen=True)
class Said:
    """A comment."""

    id: int
    code: UUID
    clip: int | None
    frame: int | None
    last_frame: int | None
    verdict: str
    checkpoint: int | None
    fault: int | None
    drill: int | None
    words: str
    cue: str
    dose: str
    has_still: bool
    is_corrected: bool
    """Changed or added since somebody could first read it."""
    is_drawn_on: bool


@dataclass(frozen=True)
class Copy:
    """Of one clip, or of a whole recording."""

    code: UUID
    first_frame: int
    timescale: int
    packed_times: bytes

    @cached_property
    def times(self) -> list[int]:
        return unpack_times(bytes(self.packed_times))

    def seconds(self, first: int, frame: int) -> float:
        """From frame `first` to `frame`."""
        start, moment = self.times[first - self.first_frame], self.times[frame - self.first_frame]
        return (moment - start) / self.timescale


def said(review: Review) -> list[Said]:
    """All that stands in it, in no order. One query."""
    rows = _rows(SAID, review=review.pk)
    return [Said(key, UUID(str(code)), *row) for key, code, *row in rows]


def own_copies(review: Review) -> dict[int, Copy]:
    """Of the clips that it speaks of, by their ids. One query."""
    rows = _rows(OWN_COPIES, review=review.pk, full=Rendition.Kind.FULL.value)
    return {clip: Copy(UUID(str(code)), *row) for clip, code, *row in rows}


def edition(club: int) -> str | None:
    """Stamp of the words that a club speaks, which changes with everybody's and with its own;
    None before the first load. One query."""
    [(shared, own)] = _rows(EDITION, club=club)
    return f"{shared} {own}" if shared else None


def _rows(sql: str, **values: int | str) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        rows: list[tuple[Any, ...]] = cursor.fetchall()
        return rows


SAID = """
    SELECT said.id, said.code, said.clip_id, said.frame, said.last_frame, said.verdict,
        said.checkpoint_id, said.fault_id, said.drill_id, said.words, said.cue, said.dose,
        said.still <> '', COALESCE(said.changed_at > reviews.first_out_at, FALSE),
        said.drawing IS NOT NULL
    FROM review_comment said JOIN review_comment_reviews stands ON stands.comment_id = said.id
    JOIN review_review reviews ON reviews.id = stands.review_id
    WHERE stands.review_id = %(review)s AND said.dropped_at IS NULL
"""

OWN_COPIES = """
    SELECT copies.clip_id, copies.code, copies.first_frame, copies.timescale, copies.packed_times
    FROM recordings_rendition copies
    WHERE copies.kind = %(full)s AND copies.clip_id IN (
        SELECT said.clip_id
        FROM review_comment said JOIN review_comment_reviews stands ON stands.comment_id = said.id
        WHERE stands.review_id = %(review)s AND said.dropped_at IS NULL
    )
"""

EDITION = """
    SELECT (SELECT stamp FROM technique_edition ORDER BY id DESC LIMIT 1),
        (SELECT stamp FROM technique_vocabulary WHERE club_id = %(club)s)
"""
