"""What lies on the review bench beside the film: whose clip it is and what was said so far."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Self

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings.models import Clip, Rendition, Session
from portal.review import slips
from portal.review.models import Comment, Review

FLAGS = {
    Review.State.PUBLISHED: "out",
    Review.State.CHECKED: "checked",
    Review.State.DRAFT: "draft",
}


def flag_of(review: Review | None, said: int) -> str:
    """A review in which nothing is said (any more) has not begun."""
    if review is None or (said == 0 and review.state == Review.State.DRAFT):
        return "none"
    return FLAGS[Review.State(review.state)]


@dataclass(frozen=True)
class Remark:
    """A comment of this clip with its moment in seconds from the clip's first frame.

    The moments are missing as long as there is no copy to read them from.
    """

    comment: Comment
    begins: float | None
    ends: float | None


@dataclass(frozen=True)
class Person:
    """A swimmer of this clip: their review of the session and the focus they were last given."""

    swimmer: Swimmer
    age: int
    review: Review | None
    flag: str
    last: Review | None
    other_clips: list[tuple[Clip, list[tuple[str, int]]]]
    """Clips on which something was said, with how often each verdict was."""


@dataclass(frozen=True)
class Mate:
    """Somebody filmed in this session, and the clip that opens their bench."""

    swimmer: Swimmer
    clip: Clip
    flag: str
    is_here: bool


@dataclass(frozen=True)
class Bench:
    clip: Clip
    persons: list[Person]
    cast: list[Mate]
    siblings: list[Clip]
    """The clips of the same swimmers in the session, this one among them."""
    remarks: list[Remark]
    counts: Counter[str]
    """How often each verdict was said in the reviews of this clip's swimmers."""

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
    def of(cls, clip: Clip, copy: Rendition | None) -> Self:
        """Seven queries, however many clips and comments there are."""
        session = clip.recording.session
        clips = list(_clips(session))
        comments = list(_comments(session))
        reviews = {review.swimmer_id: review for review in session.reviews.all()}
        here = next(row for row in clips if row.pk == clip.pk)
        swimmers = list(here.swimmers.all())
        ids = {swimmer.pk for swimmer in swimmers}
        lasts = _last_reviews(swimmers, session)
        said = Counter(review.swimmer_id for row in comments for review in row.reviews.all())
        flags = {pk: flag_of(reviews.get(pk), said[pk]) for pk in {*said, *_ids(clips)}}
        return cls(
            clip=clip,
            persons=[
                Person(
                    swimmer=swimmer,
                    age=swimmer.age(session.date),
                    review=reviews.get(swimmer.pk) if said[swimmer.pk] else None,
                    flag=flags[swimmer.pk],
                    last=lasts.get(swimmer.pk),
                    other_clips=_elsewhere(swimmer, clip, clips, comments),
                )
                for swimmer in swimmers
            ],
            cast=_cast(clips, flags, ids),
            siblings=[row for row in clips if ids & {s.pk for s in row.swimmers.all()}],
            remarks=_remarks([row for row in comments if row.clip_id == clip.pk], clip, copy),
            counts=Counter(
                row.verdict
                for row in comments
                if ids & {review.swimmer_id for review in row.reviews.all()}
            ),
        )


def _clips(session: Session) -> Iterable[Clip]:
    kept = Clip.objects.kept().filter(recording__session=session, recording__thrown_away_at=None)
    return kept.select_related("recording").prefetch_related("swimmers")


def _comments(session: Session) -> Iterable[Comment]:
    kept = session.comments.kept().filter(clip__isnull=False).in_reading_order()
    with_swimmers = Prefetch("reviews", Review.objects.select_related("swimmer"))
    return kept.select_related(
        "checkpoint", "fault__checkpoint", "drill", "author", "session__squad__club"
    ).prefetch_related(with_swimmers)


def _ids(clips: Iterable[Clip]) -> set[int]:
    return {swimmer.pk for clip in clips for swimmer in clip.swimmers.all()}


def _last_reviews(swimmers: list[Swimmer], session: Session) -> dict[int, Review]:
    """Each swimmer's newest published review of an earlier session."""
    earlier = Review.objects.published().filter(
        swimmer__in=swimmers, session__date__lt=session.date
    )
    newest_last = earlier.select_related("session", "focus__drill", "focus__fault__checkpoint")
    return {row.swimmer_id: row for row in newest_last.order_by("session__date", "id")}


def _elsewhere(
    swimmer: Swimmer, clip: Clip, clips: list[Clip], comments: list[Comment]
) -> list[tuple[Clip, list[tuple[str, int]]]]:
    found: dict[int, Counter[str]] = {}
    for row in comments:
        is_theirs = any(review.swimmer_id == swimmer.pk for review in row.reviews.all())
        if is_theirs and row.clip_id and row.clip_id != clip.pk:
            found.setdefault(row.clip_id, Counter())[row.verdict] += 1
    return [(row, sorted(found[row.pk].items())) for row in clips if row.pk in found]


def _cast(clips: list[Clip], flags: dict[int, str], here: set[int]) -> list[Mate]:
    first: dict[Swimmer, Clip] = {}
    for clip in clips:
        for swimmer in clip.swimmers.all():
            first.setdefault(swimmer, clip)
    return [
        Mate(swimmer, clip, flags[swimmer.pk], is_here=swimmer.pk in here)
        for swimmer, clip in sorted(first.items(), key=lambda pair: pair[0].name)
    ]


def _remarks(comments: list[Comment], clip: Clip, copy: Rendition | None) -> list[Remark]:
    ticks = copy.times if copy else []

    def seconds(frame: int | None) -> float | None:
        if copy is None or frame is None:
            return None
        zero = ticks[clip.first_frame - copy.first_frame]
        return (ticks[frame - copy.first_frame] - zero) / copy.timescale

    return [Remark(row, seconds(row.frame), seconds(row.last_frame)) for row in comments]


def as_json(bench: Bench, *, actor: Actor) -> list[dict[str, Any]]:
    return [slips.as_json(remark.comment, actor=actor) for remark in bench.remarks]


def phrases() -> dict[str, Any]:
    """What the bench's scripts say; braces are filled in by them."""
    verdicts = {verdict.value: str(verdict.label) for verdict in Verdict}
    return verdicts | {
        "at": _("At {time}"),
        "from": _("{time} to {end}"),
        "oneFrame": _("one frame"),
        "goOn": _("Go on to the last frame of the stretch, then press this again."),
        "fault": _("Fault"),
        "checkpoint": _("What is good"),
        "nothingCalled": _("Nothing is called “{typed}”. Try another word, or leave it empty."),
        "found": _("{count} in the list"),
        "breaks": _("Rule: {rule}"),
        "notJudged": _("Not legal is only said of swims at race pace."),
        "keeping": _("keeping …"),
        "kept": _("kept {time}"),
        "notKept": _("not kept yet"),
        "lost": _(
            "No connection. What you write stays in this browser and is sent as soon as it is back."
        ),
        "signedOut": _(
            "You are signed out. What you wrote stays in this browser;"
            " load the page again to sign in."
        ),
        "gone": _(
            "This clip or comment is no longer here. Copy what you wrote, then load the page again."
        ),
        "notDone": _("No connection: nothing was dropped or taken back. Try again."),
        "sentNow": _("What this browser had kept is sent now, {time}."),
        "dropped": _("“{name}” is dropped."),
        "undo": _("Undo"),
        "theirsDropped": _("Dropped by somebody else."),
        "noTag": _("no tag yet"),
        "notYours": _("Written by {name}: a coach changes it, or {name}."),
        "isOut": _("This review is out. Take it back first, then change it."),
        "draftBy": _("by {name}"),
        "beingWritten": _("being written"),
        "focus": _("focus"),
        "keys": [
            {"keys": ["←", "→"], "says": _("one frame")},
            {"keys": ["Shift", "← →"], "says": _("ten frames")},
            {"keys": [_("Space")], "says": _("play and stop")},
            {"keys": ["G"], "says": _("good, at this frame")},
            {"keys": ["W"], "says": _("work on, at this frame")},
            {"keys": ["X"], "says": _("not legal, at this frame")},
            {"keys": [",", "."], "says": _("comment before, after")},
            {"keys": ["Ctrl", "↵"], "says": _("keep the comment")},
            {"keys": ["Esc"], "says": _("close the slip, back to the film")},
        ],
    }
