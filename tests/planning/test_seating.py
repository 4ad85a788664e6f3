from __future__ import annotations

from collections import Counter

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

from portal.planning.seating import seat


def test_it_works():
    worth = {"Ines": {1: 4}, "Noor": {1: 3, 2: 2}, "Bela": {2: 1}, "Ada": {}}
    assert seat(worth, lanes=[1, 2], seats=1) == {"Ines": 1, "Noor": 2}


def test_who_moves_on_makes_room():
    worth = {"Ines": {1: 3, 2: 3}, "Noor": {1: 3}}
    assert seat(worth, lanes=[1, 2], seats=1) == {"Ines": 2, "Noor": 1}


def test_who_is_held_stays_even_where_it_is_worth_nothing():
    worth = {"Ines": {1: 4}, "Noor": {2: 4}}
    assert seat(worth, lanes=[1, 2], seats=1, held={"Noor": 1}) == {"Noor": 1}


def test_more_may_be_held_than_there_are_seats():
    worth = {"Ines": {1: 4}, "Noor": {1: 2}}
    assert seat(worth, lanes=[1], seats=1, held={"Ines": 1, "Noor": 1}) == {"Ines": 1, "Noor": 1}


def test_a_lane_that_is_gone_holds_nobody():
    assert seat({"Ines": {1: 4}}, lanes=[1], seats=1, held={"Ines": 7}) == {"Ines": 1}


def test_without_lanes_nobody_swims():
    assert seat({"Ines": {1: 4}}, lanes=[], seats=4) == {}


tables = st.integers(1, 5).flatmap(
    lambda lanes: st.lists(
        st.lists(st.integers(0, 4), min_size=lanes, max_size=lanes), min_size=0, max_size=14
    )
)


@given(table=tables, seats=st.integers(1, 4))
def test_nothing_is_worth_more(table: list[list[int]], seats: int):
    lanes = list(range(len(table[0]))) if table else []
    worth = {place: dict(enumerate(row)) for place, row in enumerate(table)}
    seated = seat(worth, lanes=lanes, seats=seats)

    assert all(count <= seats for count in Counter(seated.values()).values())
    assert all(worth[swimmer][lane] > 0 for swimmer, lane in seated.items())
    got = sum(worth[swimmer][lane] for swimmer, lane in seated.items())
    assert got == best(table, seats)


def best(table: list[list[int]], seats: int) -> int:
    """By scipy, each lane as many columns as it has seats."""
    if not table:
        return 0
    wide = np.repeat(np.array(table), seats, axis=1)
    return int(wide[linear_sum_assignment(wide, maximize=True)].sum())
