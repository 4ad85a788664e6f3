"""What a notes page says, gathered in a fixed number of queries whatever its length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.items.models import Verdict
from portal.kit.signs import Sign
from portal.kit.templatetags.look import film_time
from portal.notes import hanging
from portal.people.access import Actor
from portal.recordings.models import Clip, Rendition
from portal.recordings.showing import watchable
from portal.review.models import Comment, Review
from portal.technique.citing import named
from portal.technique.models import Caution

ORDER = [Verdict.GOOD, Verdict.WORK_ON, Verdict.NOT_LEGAL]
"""After the focus: praise, what to work on, warnings."""

SIGNS = {
    Verdict.GOOD: Sign.GOOD,
    Verdict.WORK_ON: Sign.WORK_ON,
    Verdict.NOT_LEGAL: Sign.NOT_LEGAL,
}
# One camera is no official, hence "looks".
WORDS = {
    Verdict.GOOD: gettext_lazy("good"),
    Verdict.WORK_ON: gettext_lazy("work on"),
    Verdict.NOT_LEGAL: gettext_lazy("looks not legal"),
}


@dataclass(frozen=True)
class Film:
    """The family's copy of a clip, and the frames of it that may be shown."""

    copy: Rendition
    clip: Clip


@dataclass(frozen=True)
class Clock:
    copy: Rendition
    times: list[int]

    def seconds(self, frame: int) -> float:
        return self.times[frame - self.copy.first_frame] / self.copy.timescale


@dataclass(frozen=True)
class Moment:
    """A comment as its reader meets it."""

    comment: Comment
    number: int
    """Its place on the page, from 1."""
    is_focus: bool
    seconds: float | None
    """Into the clip; None for a deck note, and when no copy stands from which to tell."""
    has_picture: bool
    """Not without a still, nor when somebody's answer forbids it. The page says nothing of
    the reason: it would tell one household of the other's answer."""
    film: Film | None
    knots: list[tuple[str, bool]]
    cautions: list[Caution]

    @property
    def sign(self) -> str:
        return SIGNS[Verdict(self.comment.verdict)]

    @property
    def word(self) -> str:
        return str(WORDS[Verdict(self.comment.verdict)])

    @property
    def is_warning(self) -> bool:
        return self.comment.verdict == Verdict.NOT_LEGAL

    @property
    def label(self) -> str:
        """For somebody who hears the flag line."""
        word = _("Focus") if self.is_focus else self.word
        return f"{word}: {self.comment.title}"

    @property
    def flag_words(self) -> list[str]:
        return in_two_lines(_("focus") if self.is_focus else self.word)

    @property
    def rules(self) -> list[tuple[str, str]]:
        """Those that a warning is about: name with the book, and what the rule says."""
        if not self.is_warning or self.comment.fault is None:
            return []
        return [
            (named(rule.name, rule.citations), rule.paraphrase)
            for rule in self.comment.fault.rules.all()
        ]

    @property
    def alt(self) -> str:
        """What somebody is told who does not see the picture."""
        comment = self.comment
        if comment.clip is None:
            return ""
        where = [comment.clip.get_stroke_display(), comment.clip.get_view_display()]
        if self.seconds is not None:
            where.append(_("at %(time)s") % {"time": film_time(self.seconds)})
        is_good = comment.verdict == Verdict.GOOD
        seen = comment.title if is_good or comment.fault is None else comment.fault.see
        place = ", ".join(str(part) for part in where)
        return f"{place[:1].upper()}{place[1:]}. {seen}"


def moments(review: Review, *, reader: Actor) -> list[Moment]:
    """The focus first, then praise, corrections and warnings, each in the order of the film."""
    comments = sorted(_comments(review), key=lambda c: _place(c, review))
    clips = {c.clip.id: c.clip for c in comments if c.clip}
    seen = watchable(list(clips.values()), by=reader, squad=review.session.squad)
    films, clocks = _films(clips, reader), _clocks(clips)
    found = []
    for number, comment in enumerate(comments, 1):
        clip = comment.clip
        is_seen = clip is not None and clip.id in seen
        found.append(
            Moment(
                comment=comment,
                number=number,
                is_focus=comment.id == review.focus_id,
                seconds=_seconds(comment, clocks),
                has_picture=is_seen and bool(comment.still),
                film=films.get(clip.id) if clip and is_seen else None,
                knots=_knots(comment, comments),
                cautions=_cautions(comment),
            )
        )
    return found


def _comments(review: Review) -> QuerySet[Comment]:
    rows = review.comments.kept().in_reading_order()
    rows = rows.select_related("clip__recording", "checkpoint", "fault__checkpoint", "drill")
    return rows.prefetch_related("drill__cautions", "fault__cautions", "fault__rules")


def _place(comment: Comment, review: Review) -> tuple[bool, int, bool]:
    """Notes without film after those with it, as engines do not agree where no clip belongs."""
    is_unfilmed = comment.clip_id is None
    return comment.id != review.focus_id, ORDER.index(Verdict(comment.verdict)), is_unfilmed


def _films(clips: dict[int, Clip], reader: Actor) -> dict[int, Film]:
    copies = Rendition.objects.visible_to(reader).filter(clip__in=clips, kind=Rendition.Kind.FULL)
    return {copy.clip_id: Film(copy, clips[copy.clip_id]) for copy in copies if copy.clip_id}


def _clocks(clips: dict[int, Clip]) -> dict[int, Clock]:
    """For each clip a copy that knows when its frames are: the clip's own, else the light one
    of the recording, of which nothing but the time is told."""
    recordings = {clip.recording_id for clip in clips.values()}
    copies = Rendition.objects.filter(Q(clip__in=clips) | Q(clip=None, recording__in=recordings))
    own = {copy.clip_id: copy for copy in copies if copy.clip_id}
    whole = {copy.recording_id: copy for copy in copies if not copy.clip_id}
    chosen = {clip.id: own.get(clip.id) or whole.get(clip.recording_id) for clip in clips.values()}
    # Unpacked once each: a whole recording has up to 200,000 times.
    times = {copy.id: copy.times for copy in chosen.values() if copy}
    return {clip: Clock(copy, times[copy.id]) for clip, copy in chosen.items() if copy}


def _seconds(comment: Comment, clocks: dict[int, Clock]) -> float | None:
    clip = comment.clip
    if clip is None or comment.frame is None or clip.id not in clocks:
        return None
    return clocks[clip.id].seconds(comment.frame) - clocks[clip.id].seconds(clip.first_frame)


def _knots(comment: Comment, comments: Sequence[Comment]) -> list[tuple[str, bool]]:
    clip = comment.clip
    if clip is None:
        return []
    places = [_share(c.frame, clip) for c in comments if c.clip_id == clip.id]
    return hanging.knots(places, here=_share(comment.frame, clip))


def _share(frame: int | None, clip: Clip) -> float:
    return ((frame or 0) - clip.first_frame) / (clip.frame_count - 1)


def _cautions(comment: Comment) -> list[Caution]:
    """Those of the drill and of the fault, each once."""
    terms = [term for term in (comment.drill, comment.fault) if term]
    return list({c.id: c for term in terms for c in term.cautions.all()}.values())


def in_two_lines(words: str) -> list[str]:
    """Split at the space that leaves the longer half shortest."""
    if len(words) < 8 or " " not in words:
        return [words]
    cuts = [place for place, letter in enumerate(words) if letter == " "]
    best = min(cuts, key=lambda cut: (max(cut, len(words) - cut - 1), cut))
    return [words[:best], words[best + 1 :]]


def readers(review: Review, *, is_family: bool) -> str:
    """Who can read the notes, in one sentence. A family is never named, nor counted."""
    squad = review.session.squad
    family = (
        _("your family")
        if is_family
        else _("%(swimmer)s’s family") % {"swimmer": review.swimmer.first_name}
    )
    words = {"squad": squad, "second": squad.second_adult, "family": family}
    if squad.second_adult is None:
        return _("The coaches of %(squad)s and %(family)s can read these notes.") % words
    return (
        _(
            "The coaches of %(squad)s, %(second)s as the squad’s second adult, and %(family)s"
            " can read these notes."
        )
        % words
    )


@dataclass(frozen=True)
class Heading:
    """One review in the list of a swimmer's notes."""

    review: Review
    comments: list[Comment]

    @property
    def focus(self) -> Comment | None:
        return next((c for c in self.comments if c.id == self.review.focus_id), None)

    @property
    def signs(self) -> list[str]:
        """In the order of the page that the heading leads to."""
        return [SIGNS[Verdict(comment.verdict)] for comment in self.comments]

    @property
    def counted(self) -> str:
        """What hangs there, for somebody who does not see the signs."""
        verdicts = [comment.verdict for comment in self.comments]
        return ", ".join(
            f"{verdicts.count(verdict)} {WORDS[verdict]}"
            for verdict in ORDER
            if verdict in verdicts
        )


def headings(reviews: QuerySet[Review]) -> list[Heading]:
    """Newest first. Two queries."""
    kept = Comment.objects.kept().in_reading_order()
    rows = reviews.select_related("swimmer", "session__pool", "session__squad").prefetch_related(
        Prefetch("comments", kept.select_related("checkpoint", "fault__checkpoint"), "kept")
    )
    return [
        _heading(review) for review in rows.order_by("-session__date", "-session_id", "swimmer")
    ]


def _heading(review: Review) -> Heading:
    comments: list[Comment] = review.kept  # type: ignore[attr-defined]
    return Heading(review, sorted(comments, key=lambda comment: _place(comment, review)))
