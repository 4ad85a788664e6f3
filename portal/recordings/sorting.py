"""The sorting table of one recording: what is cut already and what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from portal.people.models import Swimmer
from portal.recordings import copying
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


@dataclass(frozen=True)
class Table:
    recording: Recording
    copy: Rendition
    roster: Roster
    stretches: list[Stretch]
    newest: Stretch | None
    """The one that was cut last; what comes next goes on from it."""

    def next_swimmer(self) -> Swimmer | None:
        """Down the list from whom the newest shows, and round: the first without a stretch."""
        order = self.roster.may_be_filmed
        done = {swimmer.id for stretch in self.stretches for swimmer in stretch.swimmers}
        newest = {swimmer.id for swimmer in self.newest.swimmers} if self.newest else set()
        after = max((place + 1 for place, one in enumerate(order) if one.id in newest), default=0)
        return next((one for one in [*order[after:], *order[:after]] if one.id not in done), None)

    def next_stretch(self) -> dict[str, Any]:
        """What the form offers: from the newest's end on, the next swimmer, all else the same."""
        swimmer = self.next_swimmer()
        offered: dict[str, Any] = {"swimmers": [swimmer.code] if swimmer else []}
        if self.newest is None:
            return offered | {
                "first_frame": 0,
                "view": self.recording.view,
                "effort": Effort.PRACTICE,
            }
        clip = self.newest.clip
        return offered | {
            "first_frame": min(clip.last_frame + 1, self.copy.frame_count - 1),
            "stroke": clip.stroke,
            "view": clip.view,
            "effort": clip.effort,
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
    )


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
