"""The open items check: before a review goes out, each open item of the swimmer gets one answer.

Faults are tagged readily and clean looks rarely, so without it everything would look worse than it
is, and nothing would ever be fixed. Of what could not be seen nothing is written: it is no look.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from typing import NamedTuple, Protocol
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from portal.items.models import CheckAnswer, ItemSummary, Observation, Verdict
from portal.items.needing import MOST_OPEN, by_need
from portal.people.models import Swimmer, User
from portal.recordings.models import Clip, Session

Answer = CheckAnswer.Answer
ONE_TAP = (Answer.STILL_THERE, Answer.CLEAN, Answer.COULD_NOT_SEE)
VERDICTS = {Answer.STILL_THERE: Verdict.WORK_ON, Answer.CLEAN: Verdict.GOOD}
"""Still there is never said to be not legal: that asks for a swim at race pace."""
ENOUGH_ANSWERED = 0.7
"""Below, what is tagged says too little of what was not: counts are told, and no shares."""


class Checked(Protocol):
    """What is asked of a review, which lives on a floor above."""

    @property
    def code(self) -> UUID: ...
    @property
    def swimmer(self) -> Swimmer: ...
    @property
    def session(self) -> Session: ...


class Key(NamedTuple):
    """An item by the ids of its checkpoint and fault; no fault: every item of the checkpoint."""

    stroke: str
    checkpoint: int
    fault: int | None

    @classmethod
    def of(cls, item: ItemSummary | Observation | CheckAnswer) -> Key:
        return cls(item.stroke, item.checkpoint_id, item.fault_id)

    @property
    def point(self) -> Key:
        return self._replace(fault=None)


class Answered(NamedTuple):
    answered: int
    asked: int

    @property
    def is_enough(self) -> bool:
        """For a share to be told. True as well where nothing was ever asked."""
        return self.answered >= ENOUGH_ANSWERED * self.asked


class NotAsked(Exception):
    """An answer to what is not among the open items."""


class NoAnswer(Exception):
    """A word that is none of the three answers."""


def open_items_for(review: Checked, *, said: Collection[Key] = ()) -> list[ItemSummary]:
    """Those to be asked about, in order of need, six at most. Of the strokes that the swimmer was
    filmed in that day, or of all where there is no film. What the review says in comments (`said`)
    is not asked again. Two queries."""
    return [item for item in _open(review) if not _is_said(Key.of(item), said)]


def answer(review: Checked, answers: Mapping[Key, str], *, by: User, at: datetime) -> None:
    """Keep these answers with the draft; those given before to other items stay. Raises NotAsked
    and NoAnswer, and then nothing is kept."""
    asked = {Key.of(item) for item in _open(review)}
    for key, word in answers.items():
        if word not in ONE_TAP:
            choice = ", ".join(str(each.label) for each in ONE_TAP)
            message = _("“%(word)s” is no answer. Choose one of: %(choice)s.")
            raise NoAnswer(message % {"word": word, "choice": choice})
        if key not in asked:
            raise NotAsked(_("One of these items is no longer open. Load the page again."))
    _keep(
        [_row(review, key, word, answered_by=by, answered_at=at) for key, word in answers.items()],
    )


def answers_to(review: Checked) -> dict[Key, str]:
    """The answers kept so far. One query."""
    return {Key.of(row): row.answer for row in _kept(review).filter(answer__in=ONE_TAP)}


@transaction.atomic
def close(review: Checked, *, said: Collection[Key], at: datetime) -> list[Observation]:
    """What the answers say, unsaved, for a review that is going out; and what was not answered is
    written down. A comment on the same item goes before its answer."""
    _kept(review).exclude(answer__in=ONE_TAP).delete()
    answered = {Key.of(row): row for row in _kept(review).select_related("answered_by")}
    asked = [Key.of(item) for item in _open(review)]
    _keep(
        [
            _row(review, key, Answer.SAID if _is_said(key, said) else Answer.NONE)
            for key in asked
            if key not in answered
        ],
    )
    return [
        _observation(row, review, at=at)
        for key, row in answered.items()
        if row.answer in VERDICTS and not _is_said(key, said)
    ]


def answered(swimmer: Swimmer) -> Answered:
    """Of all that was open when a review of this swimmer went out. One query."""
    out = Observation.objects.filter(swimmer=swimmer).values("review_code")
    rows = CheckAnswer.objects.filter(swimmer=swimmer, review_code__in=out)
    words = list(rows.values_list("answer", flat=True))
    return Answered(sum(word != Answer.NONE for word in words), len(words))


def _open(review: Checked) -> list[ItemSummary]:
    filmed = Clip.objects.kept().filter(
        recording__session=review.session, swimmers=review.swimmer, recording__thrown_away_at=None
    )
    strokes = set(filmed.values_list("stroke", flat=True))
    found = ItemSummary.objects.still_open().filter(swimmer=review.swimmer)
    if strokes:
        found = found.filter(stroke__in=strokes)
    return by_need(found)[:MOST_OPEN]


def _is_said(key: Key, said: Collection[Key]) -> bool:
    return key in said or key.point in said


def _kept(review: Checked) -> QuerySet[CheckAnswer]:
    return CheckAnswer.objects.filter(review_code=review.code)


def _row(review: Checked, key: Key, word: str, **given: object) -> CheckAnswer:
    assert key.fault is not None, f"{key}: only a fault is ever open"  # noqa: S101
    return CheckAnswer(
        review_code=review.code,
        swimmer=review.swimmer,
        session=review.session,
        stroke=key.stroke,
        checkpoint_id=key.checkpoint,
        fault_id=key.fault,
        answer=word,
        **given,
    )


def _keep(rows: Iterable[CheckAnswer]) -> None:
    CheckAnswer.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["review_code", "stroke", "checkpoint", "fault"],
        update_fields=["answer", "answered_by", "answered_at"],
    )


def _observation(row: CheckAnswer, review: Checked, *, at: datetime) -> Observation:
    assert row.answered_by is not None, f"{row.code}: an answer of nobody"  # noqa: S101
    return Observation(
        swimmer=review.swimmer,
        session=review.session,
        date=review.session.date,
        stroke=row.stroke,
        checkpoint_id=row.checkpoint_id,
        fault_id=row.fault_id,
        verdict=VERDICTS[Answer(row.answer)],
        source=Observation.Source.CHECK,
        coach=row.answered_by,
        review_code=row.review_code,
        comment_code=row.code,
        at=at,
    )
