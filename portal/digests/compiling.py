"""From what is new to what a family reads, child by child."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from django.db.models import Prefetch, prefetch_related_objects

from portal.digests import changing
from portal.digests.changing import Changes
from portal.digests.counting import counted
from portal.digests.gathering import News
from portal.items.models import Observation, Verdict
from portal.people.models import Club, Swimmer
from portal.review.models import Comment, Review
from portal.review.telling import Note, lay_over, note_on


@dataclass(frozen=True)
class Point:
    """One comment, and how often the same was seen before, if that can be said."""

    note: Note
    day: date
    counted: str

    @property
    def size(self) -> int:
        """Bytes of HTML that it will come to, or some fewer."""
        return self.note.size + len(self.counted.encode())


@dataclass(frozen=True)
class Visit:
    """A session that the points are from."""

    day: date
    pool: str
    strokes: list[str]
    checked_by: str


@dataclass(frozen=True)
class Child:
    name: str
    visits: list[Visit] = field(default_factory=list)
    going_well: list[Point] = field(default_factory=list)
    focus: Point | None = None
    """The newest review's that has one: there is one correction that matters most."""
    working_on: list[Point] = field(default_factory=list)
    not_legal: list[Point] = field(default_factory=list)
    news: list[str] = field(default_factory=list)
    """What is new on the list, back on it, or looks sorted."""
    unseen: list[str] = field(default_factory=list)
    more: int = 0
    """How many points were left out for want of room."""

    @property
    def has_news(self) -> bool:
        return bool(self.visits)


Sentences = Mapping[tuple[UUID, UUID], str]


def compiled(news: News, *, club: Club, until: datetime, on: date) -> list[Child]:
    """Those with news first; what was published from `until` on is not counted, and `on` is the
    club's day. As many
    queries for one note as for hundreds."""
    comments = Comment.objects.kept().in_reading_order()
    comments = comments.select_related("clip", "checkpoint", "fault__checkpoint", "drill")
    comments = comments.prefetch_related("fault__rules", "fault__cautions", "drill__cautions")
    prefetch_related_objects(news.reviews, Prefetch("comments", comments, to_attr="kept"))
    reviews = defaultdict(list)
    for review in news.reviews:
        reviews[review.swimmer_id].append(review)
    lay_over((each for review in news.reviews for each in _kept(review)), club=club)
    sentences = _sentences(reviews, until=until)
    found = changing.changes(news.children, news.reviews, on=on)
    told = [
        _child(child, reviews[child.pk], sentences, found.get(child.pk, Changes()))
        for child in news.children
    ]
    return sorted(told, key=lambda child: not child.has_news)


def _sentences(swimmers: Iterable[int], *, until: datetime) -> Sentences:
    observations = defaultdict(list)
    for each in Observation.objects.filter(swimmer__in=swimmers, at__lt=until):
        observations[each.swimmer_id].append(each)
    return {key: words for seen in observations.values() for key, words in counted(seen).items()}


def _child(
    swimmer: Swimmer, reviews: Sequence[Review], sentences: Sentences, changes: Changes
) -> Child:
    """`reviews` with the oldest session first."""
    focus = next((c for r in reversed(reviews) for c in _kept(r) if c.pk == r.focus_id), None)
    aim = None
    points = defaultdict(list)
    for review in reviews:
        for comment in _kept(review):
            is_focus = comment == focus
            point = Point(
                note=note_on(comment, is_focus=is_focus),
                day=review.session.date,
                counted=sentences.get((review.code, comment.code), ""),
            )
            if is_focus:
                aim = point
            else:
                points[comment.verdict].append(point)
    return Child(
        name=swimmer.first_name,
        visits=[_visit(review) for review in reviews],
        focus=aim,
        going_well=points[Verdict.GOOD],
        working_on=points[Verdict.WORK_ON],
        not_legal=points[Verdict.NOT_LEGAL],
        news=changes.news,
        unseen=changes.unseen,
    )


def _kept(review: Review) -> list[Comment]:
    """Notes without film after those with it, as engines do not agree where no clip belongs."""
    kept: list[Comment] = review.kept  # type: ignore[attr-defined]
    return sorted(kept, key=lambda comment: comment.clip_id is None)


def _visit(review: Review) -> Visit:
    strokes = [str(c.clip.get_stroke_display()) for c in _kept(review) if c.clip]
    return Visit(
        day=review.session.date,
        pool=review.session.pool.name,
        strokes=list(dict.fromkeys(strokes)),
        checked_by=review.published_by.name if review.published_by else "",
    )
