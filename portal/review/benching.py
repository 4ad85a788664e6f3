"""What lies on the review bench beside the film: whose clip it is and what was said so far."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Self

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.kit.templatetags.look import film_time
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings import playing
from portal.recordings.models import Clip, Rendition, Session
from portal.review import drawing, keying, slips
from portal.review.gathering import Tally, cuts, flag_of, tallies, word_of, words_of
from portal.review.models import Review
from portal.review.slips import Slip


@dataclass(frozen=True)
class Remark:
    """A comment of this clip with its moment in seconds from the clip's first frame.

    The moments are missing as long as there is no copy to read them from.
    """

    slip: Slip
    begins: float | None
    ends: float | None

    @property
    def word(self) -> str:
        return verdict_words(get_language())[self.slip["verdict"]]

    @property
    def times(self) -> str:
        """Empty as long as nobody knows them."""
        if self.begins is None or self.ends is None:
            return "" if self.begins is None else film_time(self.begins)
        times = {"begin": film_time(self.begins), "end": film_time(self.ends)}
        return _("%(begin)s to %(end)s") % times


@dataclass(frozen=True)
class Last:
    """The newest published review of an earlier session; its focus, if it had one."""

    day: date
    has_focus: bool
    fault: str
    cue: str
    drill: str
    dose: str


@dataclass(frozen=True)
class Shot:
    """A clip as a line of a list."""

    clip: Clip
    words: str

    @property
    def address(self) -> str:
        return slips.bench_of(self.clip)


@dataclass(frozen=True)
class Other(Shot):
    """Another clip on which something was said, and how often each verdict was."""

    verdicts: list[tuple[str, int]]


@dataclass(frozen=True)
class Person:
    """A swimmer of this clip: their review of the session and the focus they were last given."""

    swimmer: Swimmer
    age: int
    review: Tally | None
    """None as long as nothing is said in it."""
    flag: str
    last: Last | None
    other_clips: list[Other]


@dataclass(frozen=True)
class Mate:
    """Somebody filmed in this session, and the clip that opens their bench."""

    swimmer: Swimmer
    clip: Clip
    flag: str
    word: str
    is_here: bool
    is_handed: bool

    @property
    def address(self) -> str:
        return slips.bench_of(self.clip)


@dataclass(frozen=True)
class Bench:
    clip: Clip
    persons: list[Person]
    cast: list[Mate]
    siblings: list[Shot]
    """The clips of the same swimmers in the session, this one among them."""
    remarks: list[Remark]
    counts: Counter[str]
    """How often each verdict was said in the reviews of this clip's swimmers."""
    checks: bool
    """Who reads it is one of the coaches, who check and publish."""

    @property
    def words(self) -> str:
        return words_of(self.clip)

    @property
    def swimmers(self) -> list[Swimmer]:
        return [person.swimmer for person in self.persons]

    @property
    def following(self) -> Mate | None:
        return following(self.cast, checks=self.checks)

    @property
    def good(self) -> int:
        return self.counts[Verdict.GOOD]

    @property
    def work_on(self) -> int:
        return self.counts[Verdict.WORK_ON]

    @property
    def not_legal(self) -> int:
        return self.counts[Verdict.NOT_LEGAL]

    @property
    def is_out(self) -> bool:
        """Nobody is here to whom something could still be said."""
        return bool(self.persons) and all(person.flag == "out" for person in self.persons)

    @classmethod
    def of(cls, clip: Clip, copy: Rendition | None, *, actor: Actor) -> Self:
        """Four queries, however many clips and comments there are."""
        session = clip.recording.session
        cut, told = cuts(session), tallies(session)
        here = [swimmer for row, swimmer in cut if row.pk == clip.pk]
        ids = {swimmer.pk for swimmer in here}
        lasts = _lasts(here, session)
        said = slips.read(clip.comments.kept(), squad=session.squad, actor=actor)
        return cls(
            clip=clip,
            persons=[
                Person(
                    swimmer=swimmer,
                    age=swimmer.age(session.date),
                    review=_begun(told.get(swimmer.pk)),
                    flag=flag_of(told.get(swimmer.pk)),
                    last=lasts.get(swimmer.pk),
                    other_clips=_elsewhere(told.get(swimmer.pk), clip, _unique(cut)),
                )
                for swimmer in here
            ],
            cast=_cast(cut, told, ids),
            siblings=[
                Shot(row, words_of(row))
                for row in _unique(pair for pair in cut if pair[1].pk in ids)
            ],
            remarks=_remarks(said, clip, copy),
            counts=_counts(said, [told[pk] for pk in ids & told.keys()], clip),
            checks=actor.leads(session.squad),
        )


def _begun(tally: Tally | None) -> Tally | None:
    return tally if tally and tally.said else None


def _unique(cut: Iterable[tuple[Clip, Swimmer]]) -> list[Clip]:
    return list({clip.pk: clip for clip, _swimmer in cut}.values())


def _lasts(swimmers: list[Swimmer], session: Session) -> dict[int, Last]:
    rows = Review.objects.published().filter(swimmer__in=swimmers, session__date__lt=session.date)
    return {
        swimmer: Last(day, focus is not None, fault or "", cue or "", drill or "", dose or "")
        # The newest comes last, and stays.
        for swimmer, day, focus, fault, cue, drill, dose in rows.order_by(
            "session__date", "pk"
        ).values_list(
            *("swimmer", "session__date", "focus", "focus__fault__name"),
            *("focus__cue", "focus__drill__name", "focus__dose"),
        )
    }


def _elsewhere(tally: Tally | None, clip: Clip, clips: list[Clip]) -> list[Other]:
    said = tally.said if tally else {}
    others = [row for row in clips if row.pk in said and row.pk != clip.pk]
    return [Other(row, words_of(row), sorted(said[row.pk].items())) for row in others]


def _cast(cut: list[tuple[Clip, Swimmer]], told: dict[int, Tally], here: set[int]) -> list[Mate]:
    first: dict[Swimmer, Clip] = {}
    for clip, swimmer in cut:
        first.setdefault(swimmer, clip)
    return [
        _mate(swimmer, clip, told.get(swimmer.pk), is_here=swimmer.pk in here)
        for swimmer, clip in sorted(first.items(), key=lambda pair: pair[0].name)
    ]


def _mate(swimmer: Swimmer, clip: Clip, tally: Tally | None, *, is_here: bool) -> Mate:
    flag = flag_of(tally)
    is_handed = tally is not None and tally.is_handed
    return Mate(swimmer, clip, flag, word_of(flag, tally), is_here, is_handed)


def following(cast: Sequence[Mate], *, checks: bool) -> Mate | None:
    """Whose notes are to be made ready next: the one after those who are here whose notes are
    neither out nor ready, and from the end on from the beginning. What was handed over waits for
    whoever `checks`, and for nobody else."""
    at = max((place for place, mate in enumerate(cast) if mate.is_here), default=-1)
    others = [*cast[at + 1 :], *cast[: at + 1]]
    waiting = (mate for mate in others if mate.flag in ("draft", "none") and not mate.is_here)
    return next((mate for mate in waiting if checks or not mate.is_handed), None)


def cast_of(session: Session, *, here: Swimmer) -> list[Mate]:
    """Everybody filmed in the session. Two queries."""
    return _cast(cuts(session), tallies(session), {here.pk})


def _counts(said: list[Slip], reviews: list[Tally], clip: Clip) -> Counter[str]:
    """What is said of two swimmers at once counts once on this clip; elsewhere in each review."""
    here = Counter(slip["verdict"] for slip in said)
    return sum(
        (counts for tally in reviews for pk, counts in tally.said.items() if pk != clip.pk), here
    )


def _remarks(said: list[Slip], clip: Clip, copy: Rendition | None) -> list[Remark]:
    moments = playing.moments(clip, copy) if copy and said else []

    def seconds(frame: int | None) -> float | None:
        return moments[frame - clip.first_frame] if moments and frame is not None else None

    return [Remark(slip, seconds(slip["frame"]), seconds(slip["lastFrame"])) for slip in said]


@cache
def verdict_words(_language: str | None) -> dict[str, str]:
    """Looked up once: a list of comments has hundreds."""
    return {verdict.value: str(verdict.label) for verdict in Verdict}


def phrases() -> dict[str, Any]:
    """What the bench's scripts say; braces are filled in by them."""
    return verdict_words(get_language()) | {
        "at": _("At {time}"),
        "from": _("{time} to {end}"),
        "oneFrame": _("one frame"),
        "goOn": _("Go on to the last frame of the stretch, then press this again."),
        "stretchFrom": _("A stretch from {time}. Go to its last frame, then say which it is."),
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
        "heard": _("{author} kept “{name}”."),
        "repeated": _("Said to {names} too, as notes without film."),
        "unsaid": _("Taken back."),
        "nobody": _("Choose somebody first."),
        "noTag": _("no tag yet"),
        "notYours": _("Written by {name}: a coach changes it, or {name}."),
        "isOut": _("This review is out. Take it back first, then change it."),
        "allOut": _("These notes are out. Take them back first, then write."),
        "draftBy": _("by {name}"),
        "beingWritten": _("being written"),
        "focus": _("focus"),
        "withDrawing": _("with a drawing"),
        "chalk": drawing.phrases(),
        "keys": [
            *keying.film_keys(),
            {"keys": ["G"], "says": _("good, at this frame")},
            {"keys": ["W"], "says": _("work on, at this frame")},
            {"keys": ["X"], "says": _("not legal, at this frame")},
            {"keys": ["S"], "says": _("a stretch begins here")},
            {"keys": ["N"], "says": _("the next swimmer")},
            {"keys": ["D"], "says": _("draw on this frame")},
            {"keys": ["1 – 7"], "says": _("while you draw: line, arrow … move")},
            {"keys": ["← ↑ ↓ →"], "says": _("while you draw: the crosshair, or what is picked")},
            {"keys": ["↵"], "says": _("while you draw: set a point; with Shift end a stroke")},
            {"keys": ["Ctrl", "Z"], "says": _("while you draw: undo; with Shift redo")},
            {"keys": [",", "."], "says": _("comment before, after")},
            {"keys": ["Ctrl", "↵"], "says": _("keep the comment")},
            *keying.beside_keys(),
            {"keys": ["Esc"], "says": _("close the slip, back to the film")},
        ],
    }
