"""What it costs to propose a lane plan: themes, then seats."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

from portal.planning import seating, theming
from tests.bench.measuring import Row, in_turn
from tests.cast import Cast

SWIMMERS, THEMES, LANES, SEATS, OPEN = 40, 24, 6, 7, 5
RUNS = 25


def lanes(_cast: Cast, _folder: Path) -> list[Row]:
    """The goal is 50 ms for 40 swimmers and six lanes."""
    rolls = random.Random(6)  # noqa: S311 - which squad
    wants = [
        {theme: rolls.choice([1, 1, 2, 2, 3, 4]) for theme in rolls.sample(range(THEMES), OPEN)}
        for _ in range(SWIMMERS)
    ]
    wide = np.array([[want.get(theme, 0) for theme in range(LANES)] for want in wants])

    def ours() -> None:
        chosen = theming.choose(wants, themes=range(THEMES), lanes=LANES)
        seating.seat(dict(enumerate(wants)), lanes=chosen, seats=SEATS)

    def scipy() -> None:
        linear_sum_assignment(np.repeat(wide, SEATS, axis=1), maximize=True)

    found = in_turn({"ours": _timed(ours), "limit": _timed(scipy)}, runs=RUNS)
    return [
        Row.of(
            "lane plan, 40 swimmers, 6 lanes",
            found["ours"],
            found["limit"],
            unit="ms",
            beside="scipy’s assignment of the seats alone",
        )
    ]


def _timed(work: Callable[[], None]) -> Callable[[], float]:
    def run() -> float:
        began = time.perf_counter()
        work()
        return 1000 * (time.perf_counter() - began)

    return run
