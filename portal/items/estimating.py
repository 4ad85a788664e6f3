"""Bands around shares and their differences. They assume that sessions do not depend on each
other, which they do a little: rough bands, and nothing is decided by them."""

from __future__ import annotations

from math import sqrt
from statistics import NormalDist
from typing import NamedTuple

from portal.items.recurrence import effective_looks

ROUGH = 0.90
SURE = 0.95
FEWEST_EACH = 10
"""On either side, before a difference is spoken of."""


class Band(NamedTuple):
    low: float
    high: float


def deviations(level: float) -> float:
    """Standard deviations either side that hold `level` of a normal distribution."""
    return NormalDist().inv_cdf((1 + level) / 2)


def wilson(hits: float, of: float, *, level: float = ROUGH) -> Band:
    """Where the true share may lie; 0 to 1 if nothing was seen.

    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1. `of` need not be whole.
    """
    if not of:
        return Band(0.0, 1.0)
    z = deviations(level)
    share, shrunk = hits / of, 1 + z * z / of
    centre = (share + z * z / (2 * of)) / shrunk
    half = z / shrunk * sqrt(max(share * (1 - share), 0.0) / of + z * z / (4 * of * of))
    low = 0.0 if hits <= 0 else centre - half
    high = 1.0 if hits >= of else centre + half
    return Band(low, high)


def recent_band(rate: float, looks: int) -> Band:
    """Around `Standing.rate`. It never gets narrower than about 23 points either side."""
    counting = effective_looks(looks)
    return wilson(rate * counting, counting)


def newcombe(hits: int, of: int, other_hits: int, other_of: int) -> Band:
    """95 % band of the first share less the second (Newcombe 1998, method 10); -1 to 1."""
    share = hits / of if of else 0.5
    other = other_hits / other_of if other_of else 0.5
    band = wilson(hits, of, level=SURE)
    beside = wilson(other_hits, other_of, level=SURE)
    difference = share - other
    below = sqrt((share - band.low) ** 2 + (beside.high - other) ** 2)
    above = sqrt((band.high - share) ** 2 + (other - beside.low) ** 2)
    return Band(max(-1.0, difference - below), min(1.0, difference + above))


def is_clear_difference(hits: int, of: int, other_hits: int, other_of: int) -> bool:
    """Enough on either side, and the band leaves 0 out."""
    low, high = newcombe(hits, of, other_hits, other_of)
    return min(of, other_of) >= FEWEST_EACH and (low > 0 or high < 0)
