"""What families asked below notes and no coach has taken up yet."""

from __future__ import annotations

from dataclasses import dataclass

from portal.people.access import Actor
from portal.replies.minding import mentions_pain
from portal.replies.models import Reply
from portal.review.models import Review

MOST = 12


@dataclass(frozen=True)
class Question:
    reply: Reply
    mentions_pain: bool


@dataclass(frozen=True)
class Waiting:
    questions: list[Question]
    """Of pain first, then the oldest first."""
    more: int

    @property
    def mentions_pain(self) -> bool:
        return any(question.mentions_pain for question in self.questions)


def waiting(actor: Actor) -> Waiting:
    """Of notes that are out. One query."""
    out = Review.objects.published().values("code")
    rows = Reply.objects.waiting_for(actor).filter(review_code__in=out)
    rows = rows.select_related("swimmer", "session__squad__club")
    found = [Question(row, mentions_pain(row.words)) for row in rows]
    found.sort(key=lambda question: not question.mentions_pain)
    return Waiting(found[:MOST], max(0, len(found) - MOST))
