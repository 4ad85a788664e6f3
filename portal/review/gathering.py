"""Who was filmed in a session and what was said to them, counted however much it is."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from uuid import UUID

from django.db.models import Count, Q
from django.utils.translation import gettext_lazy as _

from portal.people.models import Swimmer
from portal.recordings.models import Clip, Effort, Session, View
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
    "to sort": _("to sort"),
    "none": _("not begun"),
}


def flag_of(tally: Tally | None) -> str:
    """A review in which nothing is said (any more) has not begun."""
    if tally is None or (not tally.said and tally.state == Review.State.DRAFT):
        return "none"
    return FLAGS[Review.State(tally.state)]


def tallies(session: Session) -> dict[int, Tally]:
    """By the swimmer's id. One query, whose rows are not as many as the comments."""
    rows = session.reviews.values_list(
        *("swimmer", "code", "state"),
        *("comments__clip", "comments__verdict", "comments__author", "comments__author__name"),
    ).annotate(kept=Count("comments", filter=Q(comments__dropped_at=None)))
    found: dict[int, Tally] = {}
    for swimmer, code, state, clip, verdict, author, name, count in rows:
        tally = found.setdefault(swimmer, Tally(code, state))
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
    """How it was filmed and swum; cheaper than what Django makes for each field."""
    return f"{View(clip.view).label} · {Effort(clip.effort).label}"
