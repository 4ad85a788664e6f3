"""A plan proposed from what is open: themes first, then who swims where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db import transaction

from portal.people.models import Squad, User
from portal.planning import seating, theming
from portal.planning.models import Lane, Plan, Seat
from portal.planning.wanting import Theme, Wants, swimmers_of
from portal.technique.models import Drill, Fault


@dataclass(frozen=True)
class Practice:
    squad: Squad
    date: date
    lanes: int
    seats: int
    stroke: str = ""
    """Empty for all of them."""
    starts: time | None = None
    minutes: int | None = None


@transaction.atomic
def propose(practice: Practice, *, by: User, at: datetime) -> Plan:
    """The plan of that squad and day; if there is one already, that one as it stands."""
    plan, is_new = Plan.objects.get_or_create(
        squad=practice.squad,
        date=practice.date,
        defaults={
            "starts": practice.starts,
            "minutes": practice.minutes,
            "stroke": practice.stroke,
            "lane_count": practice.lanes,
            "seats": practice.seats,
            "proposed_by": by,
            "proposed_at": at,
        },
    )
    if is_new:
        _fill(plan)
    return plan


@transaction.atomic
def propose_again(plan: Plan, *, by: User, at: datetime) -> None:
    """From what is open now. Lanes and names that are held stay."""
    plan = Plan.objects.select_for_update().get(pk=plan.pk)
    _fill(plan)
    plan.proposed_by, plan.proposed_at, plan.kept_by, plan.kept_at = by, at, None, None
    plan.save(update_fields=["proposed_by", "proposed_at", "kept_by", "kept_at"])


def give(lane: Lane, theme: Theme | None) -> None:
    """Another theme for one lane, which is held from now on; whoever is in it stays."""
    plan = lane.plan
    wants = Wants(swimmers_of(plan.squad, on=plan.date), stroke=plan.stroke)
    fault = wants.leading(theme) if theme else None
    new = _lane(
        plan, lane.number, theme if fault else None, wants, _first_drills([fault] if fault else [])
    )
    for name in ("stroke", "checkpoint", "fault", "drill", "dose"):
        setattr(lane, name, getattr(new, name))
    lane.title, lane.is_held = "", True
    lane.save()


def _fill(plan: Plan) -> None:
    swimmers = swimmers_of(plan.squad, on=plan.date)
    wants = Wants(swimmers, stroke=plan.stroke)
    lanes = {lane.number: lane for lane in plan.lanes.all()}
    seats = list(Seat.objects.filter(plan=plan, is_held=True).select_related("lane"))
    # A lane somebody is held in cannot be taken from under them.
    fast = {lane.number for lane in lanes.values() if lane.is_held}
    fast |= {seat.lane.number for seat in seats}
    _choose(plan, lanes, fast, wants, [wants.worth(swimmer) for swimmer in swimmers])
    by_theme = {lane.theme: lane.number for lane in reversed(lanes.values()) if lane.theme}
    here = {swimmer.pk for swimmer in swimmers}
    held = {seat.swimmer_id: seat.lane.number for seat in seats if seat.swimmer_id in here}
    found = seating.seat(
        {
            swimmer.pk: {
                by_theme[theme]: worth
                for theme, worth in wants.worth(swimmer).items()
                if theme in by_theme
            }
            for swimmer in swimmers
        },
        lanes=sorted(lanes),
        seats=plan.seats,
        held=held,
    )
    Seat.objects.filter(plan=plan).delete()
    Seat.objects.bulk_create(
        Seat(plan=plan, lane=lanes[number], swimmer_id=swimmer, is_held=swimmer in held)
        for swimmer, number in found.items()
    )


def _choose(
    plan: Plan,
    lanes: dict[int, Lane],
    fast: set[int],
    wants: Wants,
    worths: list[dict[Theme, int]],
) -> None:
    """Fill every number with a lane; `lanes` is changed."""
    held = [theme for number in sorted(fast) if (theme := lanes[number].theme)]
    free = [number for number in range(1, plan.lane_count + 1) if number not in fast]
    chosen = theming.choose(worths, themes=wants.themes, lanes=len(held) + len(free), held=held)[
        len(held) :
    ]
    drills = _first_drills(filter(None, map(wants.leading, chosen)))
    Lane.objects.filter(plan=plan).exclude(number__in=fast).delete()
    for place, number in enumerate(free):
        theme = chosen[place] if place < len(chosen) else None
        lanes[number] = _lane(plan, number, theme, wants, drills)
    Lane.objects.bulk_create(lanes[number] for number in free)


def _lane(
    plan: Plan, number: int, theme: Theme | None, wants: Wants, drills: dict[int, Drill]
) -> Lane:
    lane = Lane(plan=plan, number=number)
    if theme is not None:
        lane.stroke, lane.checkpoint_id = theme
        lane.fault = wants.leading(theme)
        lane.drill = drills.get(lane.fault.pk) if lane.fault else None
        lane.dose = lane.drill.dose if lane.drill else ""
    return lane


def _first_drills(faults: Iterable[Fault]) -> dict[int, Drill]:
    """By the fault's id, the first in the catalogue that mends it. One query."""
    links = Fault.drills.through.objects.filter(
        fault__in=list(faults), drill__is_retired=False
    ).select_related("drill")
    found: dict[int, Drill] = {}
    for link in sorted(links, key=lambda link: link.drill.order):
        found.setdefault(link.fault_id, link.drill)
    return found
