"""What the page of a lane plan shows, in a fixed number of queries."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import Observation
from portal.items.recurrence import State
from portal.items.wording import word
from portal.kit.signs import Sign
from portal.people.models import Swimmer
from portal.planning import theming
from portal.planning.models import Lane, Plan, Seat
from portal.planning.wanting import Want, Wants, swimmers_of
from portal.technique.models import Drill
from portal.technique.wording import Words


@dataclass(frozen=True)
class Slip:
    """A swimmer's name in a lane, and why it hangs there."""

    swimmer: Swimmer
    want: Want | None
    is_held: bool = False

    @property
    def sign(self) -> Sign | None:
        if self.want is None:
            return None
        if self.want.is_not_legal:
            return Sign.NOT_LEGAL
        return Sign.BOTH if self.want.state == State.IMPROVING else Sign.WORK_ON

    @property
    def word(self) -> str:
        return word(self.want.state) if self.want else _("swims along")


@dataclass(frozen=True)
class LaneShown:
    lane: Lane
    slips: list[Slip]
    room: int

    @property
    def room_word(self) -> str:
        return ngettext("room for one", "room for %(n)d", self.room) % {"n": self.room}


@dataclass(frozen=True)
class Waiting:
    """A swimmer without a place, and why."""

    swimmer: Swimmer
    why: str


@dataclass(frozen=True)
class Shown:
    lanes: list[LaneShown]
    waiting: list[Waiting]
    reached: int
    """Swimmers whose most pressing item is their lane's."""
    second: int
    """Those who work on another item of theirs."""
    wanting: int
    """Swimmers with something open."""
    themes: list[tuple[str, str]]
    """Every theme that somebody has open: its value in a form, and its words."""

    @property
    def covers(self) -> str:
        if not self.wanting:
            return _("Nobody of this squad has anything open for these strokes.")
        first = ngettext(
            "Of the one swimmer with something open, %(reached)d swims in a lane for what is most"
            " pressing.",
            "Of the %(wanting)d swimmers with something open, %(reached)d swim in a lane for what"
            " is most pressing.",
            self.wanting,
        ) % {"wanting": self.wanting, "reached": self.reached}
        if not self.second:
            return first
        also = ngettext(
            "%(n)d works on something else that is open.",
            "%(n)d work on something else that is open.",
            self.second,
        ) % {"n": self.second}
        return f"{first} {also}"


def shown(plan: Plan) -> Shown:
    """Seven queries."""
    swimmers = swimmers_of(plan.squad, on=plan.date)
    wants = Wants(swimmers, stroke=plan.stroke)
    here = {swimmer.pk: swimmer for swimmer in swimmers}
    shown_lanes = _lanes(plan)
    Words.of(plan.squad.club).lay_over(
        [
            *(term for want in wants.all for term in (want.checkpoint, want.fault)),
            *(term for lane in shown_lanes for term in (lane.checkpoint, lane.fault, lane.drill)),
        ]
    )
    seats = [seat for seat in Seat.objects.filter(plan=plan) if seat.swimmer_id in here]
    lanes = [_lane(plan, lane, seats, here, wants) for lane in shown_lanes]
    seated = {seat.swimmer_id for seat in seats}
    looked_at = set(
        Observation.objects.filter(swimmer__in=swimmers)
        .values_list("swimmer", flat=True)
        .distinct()
    )
    pressing = {pk: max(w.points for w in found.values()) for pk, found in wants.of.items()}
    given = [
        (slip.swimmer.pk, slip.want.points) for each in lanes for slip in each.slips if slip.want
    ]
    reached = sum(points == pressing[swimmer] for swimmer, points in given)
    return Shown(
        lanes=lanes,
        waiting=[
            Waiting(swimmer, _why(swimmer, wants, looked_at))
            for swimmer in swimmers
            if swimmer.pk not in seated
        ],
        reached=reached,
        second=len(given) - reached,
        wanting=len(wants.of),
        themes=_themes(wants),
    )


def _lanes(plan: Plan) -> list[Lane]:
    drills = Prefetch("drill", Drill.objects.prefetch_related("cautions"))
    lanes = plan.lanes.select_related("checkpoint", "fault").prefetch_related(drills)
    return list(lanes)


def _lane(
    plan: Plan, lane: Lane, seats: list[Seat], here: dict[int, Swimmer], wants: Wants
) -> LaneShown:
    slips = [
        Slip(
            swimmer=here[seat.swimmer_id],
            want=wants.of.get(seat.swimmer_id, {}).get(lane.theme) if lane.theme else None,
            is_held=seat.is_held,
        )
        for seat in seats
        if seat.lane_id == lane.pk
    ]
    slips.sort(key=lambda slip: (-(slip.want.points if slip.want else 0), slip.swimmer.name))
    return LaneShown(lane, slips, room=max(plan.seats - len(slips), 0))


def _why(swimmer: Swimmer, wants: Wants, looked_at: set[int]) -> str:
    if swimmer.pk in wants.of:
        return _("no lane has room for what is open")
    if swimmer.pk in looked_at:
        return _("nothing open")
    return _("never looked at on film")


def _themes(wants: Wants) -> list[tuple[str, str]]:
    """Those that reach most come first."""
    worths = [{theme: want.points for theme, want in found.items()} for found in wants.of.values()]
    names = {want.theme: want.checkpoint.name for want in wants.all}
    order = sorted(wants.themes, key=lambda theme: -theming.worth(worths, [theme]))
    return [(f"{stroke} {point}", names[stroke, point]) for stroke, point in order]
