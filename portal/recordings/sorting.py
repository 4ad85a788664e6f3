"""The sorting table of one recording: what is cut already and what comes next."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as _noop

from portal.people.models import Swimmer
from portal.recordings import copying
from portal.recordings.equipment import Equipment
from portal.recordings.listing import Roster, roster
from portal.recordings.models import Clip, Effort, Recording, Rendition


@dataclass(frozen=True)
class Stretch:
    """A kept clip with its moments in the recording, in seconds."""

    clip: Clip
    swimmers: list[Swimmer]
    begins: float
    ends: float
    problem: str
    """Why families will see no film of it; empty while nothing went wrong."""

    @property
    def names(self) -> str:
        return ", ".join(swimmer.name for swimmer in self.swimmers)

    @property
    def first_names(self) -> str:
        return ", ".join(swimmer.first_name for swimmer in self.swimmers)


# From this share on a guess is called by the word beside it.
WORDS_FOR_SURE = ((0.85, _noop("clear")), (0.75, _noop("likely")), (0.0, _noop("faint")))


@dataclass(frozen=True)
class Proposal:
    """A stretch guessed from motion that nobody has cut or passed over, moments in seconds."""

    first: int
    last: int
    begins: float
    ends: float
    sure: float
    swimmer: Swimmer | None = None
    """Whose turn it would be, if the film list was kept and everybody swam once."""

    @property
    def how_sure(self) -> str:
        return next(_(word) for share, word in WORDS_FOR_SURE if self.sure >= share)


@dataclass(frozen=True)
class Undo:
    """How what was just done at the table is taken back: codes of clips that were made and
    removed by it, and the first frame of a guess that was passed over."""

    made: list[UUID] = field(default_factory=list)
    removed: list[UUID] = field(default_factory=list)
    passed_over: int | None = None


@dataclass(frozen=True)
class Table:
    recording: Recording
    copy: Rendition
    roster: Roster
    stretches: list[Stretch]
    newest: Stretch | None
    """The one that was cut last; what comes next goes on from it."""
    proposals: list[Proposal]

    def next_proposal(self) -> Proposal | None:
        """The first after the newest's end, and round."""
        end = self.newest.clip.last_frame if self.newest else -1
        later = [one for one in self.proposals if one.last > end]
        return next(iter([*later, *self.proposals]), None)

    def guesses(self) -> list[Proposal]:
        """The proposals in the film's order, each with the swimmer whose turn it would be. Without
        a film list nobody knows that."""
        if not self.recording.session.film_order:
            return self.proposals
        following = self.next_proposal()
        start = self.proposals.index(following) if following else 0
        in_turn = [*self.proposals[start:], *self.proposals[:start]]
        turns = dict(zip(in_turn, self.swimmers_to_come(), strict=False))
        return [replace(one, swimmer=turns.get(one)) for one in self.proposals]

    def next_swimmer(self) -> Swimmer | None:
        return next(iter(self.swimmers_to_come()), None)

    def swimmers_to_come(self) -> list[Swimmer]:
        """Down the list from whom the newest shows, and round: all without a stretch."""
        order = self.roster.may_be_filmed
        done = {swimmer.id for stretch in self.stretches for swimmer in stretch.swimmers}
        newest = {swimmer.id for swimmer in self.newest.swimmers} if self.newest else set()
        after = max((place + 1 for place, one in enumerate(order) if one.id in newest), default=0)
        return [one for one in [*order[after:], *order[:after]] if one.id not in done]

    def next_stretch(self) -> dict[str, Any]:
        """What the form offers: the next guess, or else from the newest's end on; the next
        swimmer; all else the same."""
        swimmer = self.next_swimmer()
        offered: dict[str, Any] = {"swimmers": [swimmer.code] if swimmer else []}
        if self.newest is None:
            offered |= {"first_frame": 0, "view": self.recording.view}
            offered |= {"effort": Effort.PRACTICE, "equipment": Equipment.NONE}
        else:
            clip = self.newest.clip
            offered |= {
                "first_frame": min(clip.last_frame + 1, self.copy.frame_count - 1),
                "stroke": clip.stroke,
                "view": clip.view,
                "effort": clip.effort,
                "equipment": clip.equipment,
            }
        guess = self.next_proposal()
        if guess:
            offered |= {"first_frame": guess.first, "last_frame": guess.last}
        return offered


def taken_up(stretch: Stretch) -> dict[str, Any]:
    """What the form offers for a kept clip that is cut anew: all as it is."""
    clip = stretch.clip
    return {
        "first_frame": clip.first_frame,
        "last_frame": clip.last_frame,
        "swimmers": [swimmer.code for swimmer in stretch.swimmers],
        "stroke": clip.stroke,
        "view": clip.view,
        "effort": clip.effort,
        "equipment": clip.equipment,
        "instead_of": clip.code,
    }


def table(recording: Recording) -> Table | None:
    """None while there is no copy to look at. Six queries."""
    copy = recording.renditions.filter(clip=None, kind=Rendition.Kind.LIGHT).first()
    if copy is None:
        return None
    stretches = _stretches(recording, copy)
    return Table(
        recording=recording,
        copy=copy,
        roster=roster(recording.session),
        stretches=stretches,
        newest=max(stretches, key=lambda one: (one.clip.cut_at, one.clip.pk), default=None),
        proposals=_proposals(recording, copy, stretches),
    )


def _proposals(recording: Recording, copy: Rendition, cut: list[Stretch]) -> list[Proposal]:
    """One of which half is cut has served."""
    ticks, scale = copy.times, copy.timescale
    found = []
    for guess in recording.strip.get("guesses", []):
        first, last = guess["first"], min(guess["last"], copy.frame_count - 1)
        shared = [
            min(last, one.clip.last_frame) - max(first, one.clip.first_frame) + 1 for one in cut
        ]
        is_cut = 2 * max(shared, default=0) >= last - first + 1
        if not is_cut and not guess.get("is_passed_over"):
            begins, ends = ticks[first] / scale, ticks[last] / scale
            found.append(Proposal(first, last, begins, ends, guess["sure"]))
    return found


def _stretches(recording: Recording, copy: Rendition) -> list[Stretch]:
    ticks, scale = copy.times, copy.timescale
    kept = recording.clips.kept().prefetch_related("swimmers").order_by("first_frame", "id")
    clips = list(kept)
    problems = copying.problems(clips)
    return [
        Stretch(
            clip=clip,
            swimmers=list(clip.swimmers.all()),
            begins=ticks[clip.first_frame] / scale,
            ends=ticks[clip.last_frame] / scale,
            problem=problems.get(clip.id, ""),
        )
        for clip in clips
    ]
