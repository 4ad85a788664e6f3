"""What a coach should know on the eve of publishing: who will see it, and some advice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.people.models import User
from portal.recordings.models import Clip
from portal.review.models import Comment, Review

MOST_CORRECTIONS = 3
# What the page and the question of hindrances read of a comment. All columns of all that it
# stands on would cost as much as the rest of the page.
COLUMNS = (
    *("code", "frame", "verdict", "words", "staff_note", "stroke", "cue", "dose", "changed_at"),
    "drawing",
    *("clip__code", "clip__recording_id", "clip__first_frame", "clip__last_frame", "clip__stroke"),
    *("clip__effort", "clip__removed_at", "clip__hidden_at"),
    *(
        "checkpoint__name",
        "checkpoint__strokes",
        "fault__checkpoint__name",
        "fault__strokes",
        "drill__name",
    ),
)


@dataclass(frozen=True)
class Eve:
    guardians: list[str]
    """Names of those who stand as guardians today; barred and former ones get nothing."""
    second_adult: User | None
    comments: Sequence[Comment]
    counts: Counter[str]
    advice: list[str]
    corrected: set[int]
    """Comments, by their ids, that were changed or added since readers first had them."""

    @property
    def good(self) -> int:
        return self.counts[Verdict.GOOD]

    @property
    def work_on(self) -> int:
        return self.counts[Verdict.WORK_ON]

    @property
    def not_legal(self) -> int:
        return self.counts[Verdict.NOT_LEGAL]

    @classmethod
    def of(cls, review: Review, comments: Sequence[Comment], *, on: date) -> Self:
        """One query; the comments are those of `comments_of`."""
        guardianships = review.swimmer.guardianships.on(on).order_by("guardian__name")
        counts = Counter(comment.verdict for comment in comments)
        return cls(
            guardians=list(guardianships.values_list("guardian__name", flat=True)),
            second_adult=review.session.squad.second_adult,
            comments=comments,
            counts=counts,
            advice=list(_advice(counts, has_focus=review.focus_id is not None)),
            corrected={one.pk for one in comments if one.was_corrected(review)},
        )


def comments_of(review: Review) -> list[Comment]:
    """What would go out, to be read and no more. One query."""
    comments = review.comments.kept().in_reading_order()
    return list(
        comments.select_related("clip", "checkpoint", "fault__checkpoint", "drill").only(*COLUMNS)
    )


def clips_of(review: Review) -> list[Clip]:
    """The clips that the review's comments stand on."""
    ids = review.comments.kept().filter(clip__isnull=False).values("clip")
    return list(Clip.objects.kept().filter(pk__in=ids).select_related("recording"))


def _advice(counts: Counter[str], *, has_focus: bool) -> Iterator[str]:
    """Advice, not a lock."""
    corrections = counts[Verdict.WORK_ON] + counts[Verdict.NOT_LEGAL]
    if corrections > MOST_CORRECTIONS:
        yield _(
            "%(count)s corrections are more than anybody swims with at once."
            " Three are enough; drop some, or keep them for next time."
        ) % {"count": corrections}
    if corrections and not has_focus:
        yield _("No correction is the focus yet. Choose the one that matters most.")
    if counts[Verdict.GOOD] < corrections:
        yield _("There is less praise than correction. What went well at this practice?")
