from __future__ import annotations

from datetime import date

import pytest

from portal.people.models import SquadPlace
from portal.planning import moving, proposing
from portal.planning.models import Plan, Seat
from portal.planning.proposing import Practice
from portal.technique.models import Drill, Phase
from tests.cast import DAY, NOW, Cast, make_swimmer
from tests.items.seen import fault
from tests.planning.openings import NEW, NOT_LEGAL, has


def propose(cast: Cast, *, lanes: int = 2, seats: int = 2, stroke: str = "") -> Plan:
    practice = Practice(cast.squad, DAY, lanes=lanes, seats=seats, stroke=stroke)
    return proposing.propose(practice, by=cast.coach, at=NOW)


def where(plan: Plan) -> dict[str, int]:
    seats = Seat.objects.filter(plan=plan).select_related("swimmer", "lane")
    return {seat.swimmer.first_name: seat.lane.number for seat in seats}


def names(plan: Plan) -> list[str]:
    return [lane.name for lane in plan.lanes.select_related("checkpoint")]


def test_it_works(cast: Cast):
    heels, line = fault("heels", order=1), fault("line", order=2)
    drill = Drill.objects.create(
        slug="d", name="Heels to hands", strokes=" breast ", phase=Phase.KICK, how="", dose="4 x 25"
    )
    heels.drills.add(drill)
    has(cast, cast.swimmer, heels, NOT_LEGAL)
    has(cast, cast.mate, line)

    plan = propose(cast)

    assert names(plan) == ["Good heels", "Good line"]
    assert where(plan) == {"Ines": 1, "Noor": 2}
    first = plan.lanes.get(number=1)
    assert (first.fault, first.drill, first.dose) == (heels, drill, "4 x 25")


def test_a_second_proposal_for_a_day_is_the_first(cast: Cast):
    plan = propose(cast)
    has(cast, cast.swimmer, fault("heels"))
    assert propose(cast, lanes=6) == plan
    assert where(plan) == {}


def test_proposing_again_keeps_what_is_held(cast: Cast):
    heels, line, breath = (
        fault(name, order=n) for n, name in enumerate(["heels", "line", "breath"])
    )
    has(cast, cast.swimmer, heels)
    has(cast, cast.mate, line, NEW)
    plan = propose(cast)
    moving.seat(plan, cast.mate, plan.lanes.get(number=1))
    moving.keep(plan, by=cast.coach, at=NOW)
    has(cast, cast.swimmer, breath, NOT_LEGAL)

    proposing.propose_again(plan, by=cast.head_coach, at=NOW)

    plan.refresh_from_db()
    assert names(plan) == ["Good heels", "Good breath"]
    assert where(plan) == {"Ines": 2, "Noor": 1}
    assert (plan.proposed_by, plan.kept_by) == (cast.head_coach, None)


def test_lanes_over_what_is_open_stay_free(cast: Cast):
    has(cast, cast.swimmer, fault("heels"))
    assert names(propose(cast, lanes=3)) == ["Good heels", "Free lane", "Free lane"]


def test_only_items_of_the_stroke(cast: Cast):
    has(cast, cast.swimmer, fault("heels"))
    assert names(propose(cast, stroke="fly", lanes=1)) == ["Free lane"]


def test_who_has_left_the_squad_is_not_seated(cast: Cast):
    has(cast, cast.swimmer, fault("heels"))
    SquadPlace.objects.filter(swimmer=cast.swimmer).update(ends=date(2026, 11, 1))
    assert where(propose(cast)) == {}


def test_a_theme_given_by_hand_is_held(cast: Cast):
    heels, line = fault("heels", order=1), fault("line", order=2)
    has(cast, cast.swimmer, heels)
    has(cast, cast.mate, line, NEW)
    plan = propose(cast, lanes=1)
    lane = plan.lanes.get()

    proposing.give(lane, ("breast", line.checkpoint_id))
    proposing.propose_again(plan, by=cast.coach, at=NOW)

    assert names(plan) == ["Good line"]
    assert where(plan) == {"Noor": 1}


def test_a_theme_that_nobody_has_open_is_none(cast: Cast):
    plan = propose(cast, lanes=1)
    proposing.give(plan.lanes.get(), ("breast", fault("line").checkpoint_id))
    assert names(plan) == ["Free lane"]


def test_a_full_lane_takes_nobody_more(cast: Cast):
    plan = propose(cast, lanes=1, seats=1)
    moving.seat(plan, cast.swimmer, plan.lanes.get())
    with pytest.raises(moving.Refused, match="Lane 1 is full"):
        moving.seat(plan, cast.mate, plan.lanes.get())
    assert where(plan) == {"Ines": 1}


def test_the_rest_goes_where_there_is_room(cast: Cast):
    for name in ["Ada Bell", "Bo Carr", "Cy Dean"]:
        make_swimmer(cast.club, cast.squad, name, born=date(2013, 1, 1))
    plan = propose(cast, lanes=2, seats=2)
    assert moving.seat_the_rest(plan) == 4
    assert sorted(where(plan).values()) == [1, 1, 2, 2]
    assert moving.seat_the_rest(plan) == 0
