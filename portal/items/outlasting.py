"""How long items stay open (Kaplan and Meier 1958). Knows no database.

An episode begins with the look that makes an item recurring and is counted in looks. It ends with
the first clean look of the run that later made it fixed. Until one has, the item is known to
have lasted to its last faulty look and no further: a clean run that still goes on is no evidence.
Where coaches stop looking early the curve still lies too high, so it is told as "at least".
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from math import exp, log, sqrt
from typing import NamedTuple

from portal.items.estimating import SURE, Band, deviations
from portal.items.recurrence import Look, State, standings

FEWEST_FIXES = 10
FEWEST_SWIMMERS = 5


class Episode(NamedTuple):
    looks: int
    """From the look that made it recurring, not counting it."""
    weeks: float
    is_fixed: bool


class Point(NamedTuple):
    """The curve from here to the next point. `error` is Greenwood's."""

    looks: int
    at_risk: int
    fixed: int
    still_open: float
    error: float
    band: Band


def episode(looks: Sequence[Look]) -> Episode | None:
    """The first of an item whose looks come oldest first; None if it never recurred."""
    counted = [look for look in looks if look.counts]
    began: int | None = None
    last_faulty = 0
    for place, standing in enumerate(standings(counted)):
        if began is None and standing.state == State.RECURRING:
            began = place
        if counted[place].is_faulty:
            last_faulty = place
        if began is not None and standing.state == State.FIXED:
            return _episode(
                counted[began].day, counted[last_faulty + 1].day, last_faulty + 1 - began
            )
    if began is None:
        return None
    ended = counted[last_faulty].day
    return _episode(counted[began].day, ended, last_faulty - began, is_fixed=False)


def _episode(began: date, ended: date, looks: int, *, is_fixed: bool = True) -> Episode:
    return Episode(looks, (ended - began).days / 7, is_fixed)


def curve(episodes: Iterable[Episode]) -> list[Point]:
    """A point for every number of looks at which something was fixed. The 95 % band is log-log:
    it stays within 0 and 1."""
    ends = Counter((each.looks, each.is_fixed) for each in episodes)
    at_risk, still_open, greenwood = ends.total(), 1.0, 0.0
    points = []
    for time in sorted({looks for looks, _ in ends}):
        if fixed := ends[time, True]:
            still_open *= 1 - fixed / at_risk
            greenwood += fixed / (at_risk * (at_risk - fixed)) if fixed < at_risk else 0.0
            error = still_open * sqrt(greenwood)
            points.append(
                Point(time, at_risk, fixed, still_open, error, _band(still_open, greenwood))
            )
        at_risk -= fixed + ends[time, False]
    return points


def _band(still_open: float, greenwood: float) -> Band:
    if not 0 < still_open < 1:
        return Band(still_open, still_open)
    hazard = log(-log(still_open))
    half = deviations(SURE) * sqrt(greenwood) / -log(still_open)
    return Band(exp(-exp(hazard + half)), exp(-exp(hazard - half)))


def median(points: Sequence[Point]) -> int | None:
    """Looks after which half are fixed. None: more than half are still open at the end."""
    return next((point.looks for point in points if point.still_open <= 0.5), None)


def may_be_told(episodes: Iterable[tuple[int, Episode]]) -> bool:
    """Episodes with their swimmers: ten fixes of five swimmers, or it says nothing."""
    fixed = [swimmer for swimmer, each in episodes if each.is_fixed]
    return len(fixed) >= FEWEST_FIXES and len(set(fixed)) >= FEWEST_SWIMMERS
