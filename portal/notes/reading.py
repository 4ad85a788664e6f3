"""What a notes page says, gathered in a fixed number of queries whatever its length."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Self

from django.db.models import Prefetch, QuerySet
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.items.models import Verdict
from portal.kit.signs import Sign
from portal.kit.templatetags.look import sign
from portal.notes import asking, filming, hanging, wording
from portal.notes.advising import Advice, drawn
from portal.notes.asking import Said
from portal.notes.filming import Scene, Stretch
from portal.notes.hanging import Flag, Line
from portal.notes.wording import Words
from portal.people.access import Actor
from portal.review.models import Comment, Review

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
class Moment:
    """A comment as its reader meets it."""

    number: str
    """Its place on the page, from 1."""
    is_focus: bool
    verdict: Verdict
    word: str
    title: str
    words: str
    cue: str
    scene: Scene | None
    """None for a note from the deck."""
    advice: SafeString
    is_corrected: bool

    @property
    def look(self) -> str:
        return self.verdict.replace(" ", "-")

    @property
    def sign(self) -> SafeString:
        return _sign(self.verdict, 20)


@dataclass(frozen=True)
class Pennant:
    """A moment's flag, as it hangs on its line."""

    flag: Flag
    moment: Moment
    label: str
    """For somebody who hears the flag line."""
    word: str
    rest: str
    """Of the words below it, when they take two lines."""

    @classmethod
    def of(cls, moment: Moment, flag: Flag) -> Self:
        word = _("Focus") if moment.is_focus else moment.word
        upper, lower = in_two_lines(_("focus") if moment.is_focus else moment.word)
        return cls(flag, moment, f"{word}: {moment.title}", upper, lower)

    @property
    def sign(self) -> SafeString:
        return _sign(self.moment.verdict, self.flag.sign_size)


@dataclass(frozen=True)
class Notes:
    """One swimmer's notes of one session."""

    moments: list[Moment]
    strings: Mapping[str, list[str]]
    """Of the clips, each with its knots."""
    has_drill: bool

    @property
    def wholes(self) -> list[list[Moment]]:
        """The moments of each clip whose film the reader may see, as they come in it."""
        found: dict[str, list[Moment]] = defaultdict(list)
        for moment in self.moments:
            if moment.scene and moment.scene.picture and moment.scene.picture.film:
                found[moment.scene.string].append(moment)
        return [sorted(moments, key=_frame) for moments in found.values()]

    @property
    def lines(self) -> list[tuple[Line, list[Pennant]]]:
        """The flag line, of as many strings as it takes."""
        lowest = next((place for place, m in enumerate(self.moments) if m.is_focus), None)
        moments = iter(self.moments)
        lines = hanging.hang(len(self.moments), lowest=lowest)
        return [(line, [Pennant.of(next(moments), flag) for flag in line.flags]) for line in lines]


def _frame(moment: Moment) -> int:
    picture = moment.scene.picture if moment.scene else None
    return int(picture.frame) if picture else 0


def notes(review: Review, *, reader: Actor) -> Notes:
    """The focus first, then praise, corrections and warnings, each in the order of the film."""
    comments = asking.said(review)
    clips = {said.clip for said in comments if said.clip}
    stretches = filming.stretches(clips, review, reader=reader)
    comments.sort(key=lambda said: _place(said, stretches, focus=review.focus_id))
    words = wording.words(review.session.squad.club_id)
    age = review.swimmer.age(review.session.date)
    moments = [
        _moment(said, stretches, words, number=number, is_focus=said.id == review.focus_id, age=age)
        for number, said in enumerate(comments, 1)
    ]
    has_drill = any(said.drill for said in comments)
    return Notes(moments, filming.strings(comments, stretches), has_drill)


def _moment(
    said: Said,
    stretches: Mapping[int, Stretch],
    words: Words,
    *,
    number: int,
    is_focus: bool,
    age: int,
) -> Moment:
    verdict = Verdict(said.verdict)
    fault = words.faults[said.fault] if said.fault else None
    drill = words.drills[said.drill] if said.drill else None
    title = words.title(said.checkpoint, said.fault)
    see = title if verdict == Verdict.GOOD or fault is None else fault.see
    scene = filming.scene(said, stretches, see=see)
    is_warning = verdict == Verdict.NOT_LEGAL
    cue = wording.cue_for(said.cue, fault if verdict != Verdict.GOOD else None, age=age)
    return Moment(
        number=str(number),
        is_focus=is_focus,
        verdict=verdict,
        word=str(WORDS[verdict]),
        title=title,
        words=said.words,
        cue=_("Think: %(cue)s") % {"cue": cue} if cue else "",
        scene=scene,
        advice=drawn(Advice(scene is not None, is_warning, fault, drill, said.dose)),
        is_corrected=bool(said.is_corrected),
    )


def _place(
    said: Said, stretches: Mapping[int, Stretch], *, focus: int | None
) -> tuple[object, ...]:
    """Focus and verdict, then as `in_reading_order` has it; notes without film come last."""
    first = said.id != focus, ORDER.index(Verdict(said.verdict)), said.clip is None
    if said.clip is None:
        return *first, said.id
    recording = stretches[said.clip].clip.recording
    return *first, recording.uploaded_at, recording.pk, said.frame, said.id


@cache
def _sign(verdict: Verdict, size: int) -> SafeString:
    return sign(SIGNS[verdict], size)


def in_two_lines(words: str) -> tuple[str, str]:
    """Split at the space that leaves the longer half shortest; short words stand on one line."""
    if len(words) < 8 or " " not in words:
        return words, ""
    cuts = [place for place, letter in enumerate(words) if letter == " "]
    best = min(cuts, key=lambda cut: (max(cut, len(words) - cut - 1), cut))
    return words[:best], words[best + 1 :]


def readers(review: Review, *, is_family: bool) -> str:
    """Who can read the notes. A family is never named, nor counted."""
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
            "The coaches of %(squad)s can read these notes. So can %(second)s, the squad’s second"
            " adult, and %(family)s."
        )
        % words
    )


@dataclass(frozen=True)
class Heading:
    """One review in the list of a swimmer's notes."""

    review: Review
    comments: list[Comment]
    words: Words

    @property
    def aim(self) -> str:
        """What the focus is about; empty without one."""
        focus = self.focus
        return self.words.title(focus.checkpoint_id, focus.fault_id) if focus else ""

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
    """Newest first. Two queries, and one for each club's words."""
    kept = Comment.objects.kept().in_reading_order()
    rows = reviews.select_related("swimmer", "session__pool", "session__squad").prefetch_related(
        Prefetch("comments", kept, "kept")
    )
    found = list(rows.order_by("-session__date", "-session_id", "swimmer"))
    clubs = {review.session.squad.club_id for review in found}
    words = {club: wording.words(club) for club in clubs}
    return [_heading(review, words[review.session.squad.club_id]) for review in found]


def _heading(review: Review, words: Words) -> Heading:
    comments: list[Comment] = review.kept  # type: ignore[attr-defined]
    ordered = sorted(comments, key=lambda comment: _before(comment, review))
    return Heading(review, ordered, words)


def _before(comment: Comment, review: Review) -> tuple[bool, int, bool]:
    """As on the page. Engines do not agree where no clip belongs."""
    is_unfilmed = comment.clip_id is None
    return comment.id != review.focus_id, ORDER.index(Verdict(comment.verdict)), is_unfilmed
