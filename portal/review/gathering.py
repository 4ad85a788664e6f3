"""Who was filmed in a session and what was said to them, counted however much it is."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from uuid import UUID

from django.db import connection
from django.utils.translation import gettext_lazy as _

from portal.people.models import Swimmer
from portal.recordings.models import Clip, Session
from portal.review.models import Review

FLAGS = {
    Review.State.PUBLISHED: "out",
    Review.State.CHECKED: "checked",
    Review.State.DRAFT: "draft",
}


@dataclass(frozen=True)
class Tally:
    """A swimmer's review, with what stands in it in numbers."""

    code: UUID
    state: str
    is_handed: bool = False
    """A draft that somebody asked a coach to check."""
    said: dict[int | None, Counter[str]] = field(default_factory=dict)
    """How often each verdict, by the clip's id; None for notes without film."""
    authors: dict[int, str] = field(default_factory=dict)
    """Names of those who said it, by their ids."""

    @property
    def is_out(self) -> bool:
        return self.state == Review.State.PUBLISHED

    @property
    def verdicts(self) -> Counter[str]:
        """How often each was said in the whole review."""
        return sum(self.said.values(), Counter())


FLAG_WORDS = {
    "out": _("out"),
    "checked": _("checked, not out"),
    "draft": _("draft"),
    "handed": _("please check"),
    "to sort": _("to sort"),
    "none": _("not begun"),
}


def word_of(flag: str, tally: Tally | None) -> str:
    """Handed over, a draft hangs like any other and is called by its own name."""
    is_handed = flag == "draft" and tally is not None and tally.is_handed
    return str(FLAG_WORDS["handed" if is_handed else flag])


def flag_of(tally: Tally | None) -> str:
    """A review in which nothing is said (any more) has not begun."""
    if tally is None or (not tally.said and tally.state == Review.State.DRAFT):
        return "none"
    return FLAGS[Review.State(tally.state)]


# A row for each swimmer, clip, verdict and author; one of nothing for a review without comments.
TALLIES = """
    SELECT reviews.swimmer_id, reviews.code, reviews.state, reviews.handed_at IS NOT NULL,
        comments.clip_id, comments.verdict, comments.author_id, authors.name, COUNT(comments.id)
    FROM review_review reviews
    LEFT JOIN review_comment_reviews places ON places.review_id = reviews.id
    LEFT JOIN review_comment comments
        ON comments.id = places.comment_id AND comments.dropped_at IS NULL
    LEFT JOIN people_user authors ON authors.id = comments.author_id
    WHERE reviews.session_id = %s
    GROUP BY reviews.id, comments.clip_id, comments.verdict, comments.author_id, authors.name
"""


def tallies(session: Session) -> dict[int, Tally]:
    """By the swimmer's id. One query, whose rows are not as many as the comments.

    It is in SQL since desk and bench both ask it: built from the models, it costs each of them
    half a bare page.
    """
    with connection.cursor() as cursor:
        cursor.execute(TALLIES, [session.pk])
        rows = cursor.fetchall()
    found: dict[int, Tally] = {}
    for swimmer, code, state, is_handed, clip, verdict, author, name, count in rows:
        # Databases differ in how they hand over codes.
        tally = found.setdefault(swimmer, Tally(UUID(str(code)), state, bool(is_handed)))
        if count:
            tally.said.setdefault(clip, Counter())[verdict] += count
            tally.authors[author] = name
    return found


def cuts(session: Session) -> list[tuple[Clip, Swimmer]]:
    """Each swimmer of each clip, in the order of the film. One query."""
    rows = Clip.swimmers.through.objects.filter(
        clip__recording__session=session,
        clip__recording__thrown_away_at=None,
        clip__removed_at=None,
    )
    pairs = [(row.clip, row.swimmer) for row in rows.select_related("clip", "swimmer")]
    return sorted(pairs, key=_place)


def _place(pair: tuple[Clip, Swimmer]) -> tuple[int, int, int, str]:
    """Recordings are numbered as they came in."""
    clip, swimmer = pair
    return clip.recording_id, clip.first_frame, clip.pk, swimmer.name


def words_of(clip: Clip) -> str:
    """How it was filmed and swum."""
    words = [clip.view_word, clip.effort_word, clip.equipment_word]
    return " · ".join(filter(None, words))
