"""A dispute with the words of both coaches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from portal.items.models import Observation
from portal.items.settling import Dispute
from portal.review.models import Comment
from portal.technique.models import Stroke


@dataclass(frozen=True)
class Side:
    """What one coach said of the clip."""

    coach: str
    words: str
    still: Comment | None


@dataclass(frozen=True)
class Told:
    dispute: Dispute
    there: list[Side]
    clean: list[Side]

    @property
    def name(self) -> str:
        return self.dispute.fault.name

    @property
    def stroke(self) -> str:
        return str(Stroke(self.dispute.stroke).label)

    @property
    def day(self) -> date:
        return self.dispute.there[0].date


def told(disputes: Sequence[Dispute]) -> list[Told]:
    """One query."""
    codes = {each.comment_code for dispute in disputes for each in (*dispute.there, *dispute.clean)}
    comments = {each.code: each for each in Comment.objects.filter(code__in=codes)}
    return [
        Told(each, list(_sides(each.there, comments)), list(_sides(each.clean, comments)))
        for each in disputes
    ]


def _sides(said: Iterable[Observation], comments: Mapping[UUID, Comment]) -> Iterable[Side]:
    for each in said:
        comment = comments.get(each.comment_code)
        yield Side(
            coach=each.coach.name,
            words=comment.words if comment else "",
            still=comment if comment and comment.still else None,
        )
