"""What a coach is asked on the eve of publishing: how the open items looked, and the focus."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple, Self

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items import checking, explaining
from portal.items.checking import Answer, Key
from portal.items.models import ItemSummary, Verdict
from portal.items.recurrence import State
from portal.kit.signs import Sign
from portal.people.models import User
from portal.review import commenting
from portal.review.models import Comment, Review

SIGNS = {
    Answer.STILL_THERE: Sign.WORK_ON,
    Answer.CLEAN: Sign.GOOD,
    Answer.COULD_NOT_SEE: Sign.NOT_LOOKED_AT,
}


class Choice(NamedTuple):
    value: str
    word: str
    sign: str
    is_answer: bool


@dataclass(frozen=True)
class Question:
    """An open item that no comment of the review speaks of."""

    item: ItemSummary
    answer: str
    """Empty as long as there is none."""

    @property
    def key(self) -> Key:
        return Key.of(self.item)

    @property
    def field(self) -> str:
        return f"item-{self.key.stroke}-{self.key.checkpoint}-{self.key.fault}"

    @property
    def name(self) -> str:
        return str(self.item.fault or self.item.checkpoint)

    @property
    def standing(self) -> str:
        """How it stood before this session."""
        item, state = self.item, str(explaining.WORDS[State(self.item.state)])
        text = ngettext(
            "%(stroke)s · %(state)s · seen in %(faulty)s of %(looks)s look",
            "%(stroke)s · %(state)s · seen in %(faulty)s of %(looks)s looks",
            item.looks,
        )
        values = {"stroke": item.get_stroke_display(), "state": state}
        return text % {**values, "faulty": item.faulty, "looks": item.looks}

    @property
    def choices(self) -> list[Choice]:
        return [
            Choice(each.value, str(each.label), SIGNS[each], each == self.answer)
            for each in checking.ONE_TAP
        ]


@dataclass(frozen=True)
class Check:
    """The open items check of a review, and the corrections that could be its focus."""

    questions: list[Question]
    corrections: list[Comment]

    @classmethod
    def of(cls, review: Review, comments: Sequence[Comment]) -> Self:
        """Three queries; the comments are the review's."""
        said = {key for comment in comments if (key := commenting.key_of(comment))}
        items = checking.open_items_for(review, said=said)
        given = checking.answers_to(review)
        return cls(
            questions=[Question(item, given.get(Key.of(item), "")) for item in items],
            corrections=[one for one in comments if one.verdict != Verdict.GOOD],
        )

    @property
    def unanswered(self) -> int:
        return sum(not question.answer for question in self.questions)

    @property
    def remaining(self) -> str:
        if not self.unanswered:
            return _("all answered")
        text = ngettext("%(count)s to answer", "%(count)s to answer", self.unanswered)
        return text % {"count": self.unanswered}


@transaction.atomic
def settle(
    review: Review,
    *,
    focus: Comment | None,
    answers: Mapping[Key, str],
    by: User,
    at: datetime,
) -> None:
    """Keep with the draft what was answered; no focus means that the choice stays as it was.

    Raises commenting.AlreadyOut, checking.NotAsked and checking.NoAnswer.
    """
    commenting.lock([review])
    if focus:
        Review.objects.filter(pk=review.pk).update(focus=focus)
        review.focus = focus
    checking.answer(review, answers, by=by, at=at)


def answers_among(questions: Sequence[Question], given: Mapping[str, str]) -> dict[Key, str]:
    """What was tapped, by the item it is said of."""
    found = {question.key: given.get(question.field, "") for question in questions}
    return {key: Answer(word) for key, word in found.items() if word}
