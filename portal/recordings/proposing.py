"""Where in a film somebody seems to swim: guesses for the sorting table, never more than that.

A film is looked at as a row of very small pictures, evenly spaced. Two things tell of a swimmer:
how much of a picture is redder than water is at that depth, and how much changes from one picture
to the next. The first holds also where the camera goes along with a swimmer, so it is believed
where it parts the film into two; a grey or murky film leaves only the second.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

COLUMNS, ROWS = 32, 18
CELLS = COLUMNS * ROWS
PICTURE_BYTES = 3 * CELLS
"""Brightness, then blue, then red, a byte for each cell."""
A_SECOND, MOST_PICTURES = 10, 6000
# A cell stands out, or has changed, by more than this of 255.
STANDS_OUT = 4
# Less of the picture than this is noise.
FEWEST_CELLS = CELLS * 0.012
# Whoever fills this much of the picture is as much there as somebody who fills half of it.
ENOUGH_CELLS = CELLS * 0.03
# So much of a film is empty at the least; what stands out then is no swimmer.
EMPTY_SHARE = 0.05
# A level that explains less than this of all differences parts nothing: chance alone gives 0.64.
LEAST_PARTED = 0.7
# Shorter than this nobody swims through a picture, and shorter than that nobody leaves it.
SHORTEST, BREATH = 1.0, 0.3
"""Seconds."""


@dataclass(frozen=True)
class Guess:
    """Frames `first` to `last` of the film; `sure` is a share, 1 for as good as certain."""

    first: int
    last: int
    sure: float


def spacing(rate: float, frames: int) -> int:
    """Every how many frames a picture is worth looking at."""
    return max(1, round(rate / A_SECOND), -(-frames // MOST_PICTURES))


def stretches(pictures: bytes, *, every: int, rate: float, frames: int) -> list[Guess]:
    """`pictures`: one after another as PICTURE_BYTES says, of frames 0, `every`, 2 * `every`, …
    In the film's order; none where nothing parts busy from empty."""
    pieces = [
        pictures[at : at + PICTURE_BYTES]
        for at in range(0, len(pictures) - PICTURE_BYTES + 1, PICTURE_BYTES)
    ]
    if len(pieces) < 3:
        return []
    for signal in (_redness(pieces), _changes(pieces)):
        parted, level = _parting(signal)
        if parted >= LEAST_PARTED:
            runs = _runs([value > level for value in signal], a_second=rate / every)
            return [
                Guess(
                    first=first * every,
                    last=min(frames - 1, last * every + every - 1),
                    sure=_sure(signal[first : last + 1], level=level, parted=parted),
                )
                for first, last in runs
            ]
    return []


def _redness(pieces: Sequence[bytes]) -> list[float]:
    """How many cells of each picture are redder than is usual in their row of the whole film."""
    reds = [piece[2 * CELLS :] for piece in pieces]
    limits = bytearray()
    for row in range(ROWS):
        cells = slice(row * COLUMNS, (row + 1) * COLUMNS)
        counts = Counter(b"".join(red[cells] for red in reds))
        limits += bytes([min(255, _middle(counts) + STANDS_OUT)]) * COLUMNS
    return _beyond_usual([sum(map(int.__gt__, red, limits)) for red in reds])


def _middle(counts: Counter[int]) -> int:
    half, passed = counts.total() / 2, 0
    for value in sorted(counts):
        passed += counts[value]
        if passed >= half:
            return value
    return 0


def _changes(pieces: Sequence[bytes]) -> list[float]:
    """How many cells of each picture are brighter or darker than in the one before."""
    greys = [piece[:CELLS] for piece in pieces]
    changed = [
        sum(abs(one - other) > STANDS_OUT for one, other in zip(before, after, strict=True))
        for before, after in pairwise(greys)
    ]
    return _beyond_usual([changed[0], *changed])


def _beyond_usual(values: Sequence[int]) -> list[float]:
    """More than the emptiest pictures have, up to ENOUGH_CELLS; the middle of three each time, so
    that one odd picture is not believed."""
    padded = [values[0], *values, values[-1]]
    calm = [sorted(padded[at : at + 3])[1] for at in range(len(values))]
    empty = sorted(calm)[int(EMPTY_SHARE * len(calm))]
    return [min(ENOUGH_CELLS, max(0, value - empty)) for value in calm]


def _parting(signal: Sequence[float]) -> tuple[float, float]:
    """The share of all differences that a level explains which parts the values into two, at its
    best (Otsu 1979, IEEE Trans. SMC 9, 62), and that level; 0 where the two are hardly apart."""
    counts = Counter(signal)
    count, total = len(signal), sum(signal)
    spread = sum(value * value for value in signal) / count - (total / count) ** 2
    below, sum_below, best = 0, 0.0, (0.0, 0.0)
    for value, after in pairwise(sorted(counts)):
        below += counts[value]
        sum_below += counts[value] * value
        low, high = sum_below / below, (total - sum_below) / (count - below)
        if high - low >= FEWEST_CELLS:
            between = below * (count - below) / count**2 * (high - low) ** 2
            best = max(best, (between / spread, (value + after) / 2))
    return best


def _runs(busy: Sequence[bool], *, a_second: float) -> list[tuple[int, int]]:
    """First and last place of each run of busy ones, with short gaps closed and short runs left
    out."""
    runs: list[tuple[int, int]] = []
    for is_busy, places in groupby(range(len(busy)), key=busy.__getitem__):
        here = list(places)
        if not is_busy:
            continue
        if runs and here[0] - runs[-1][1] - 1 <= BREATH * a_second:
            runs[-1] = (runs[-1][0], here[-1])
        else:
            runs.append((here[0], here[-1]))
    return [(first, last) for first, last in runs if last - first + 1 >= SHORTEST * a_second]


def _sure(values: Sequence[float], *, level: float, parted: float) -> float:
    """How well the film parts at all, less where the stretch is hardly above the level."""
    above = sum(values) / len(values) / level - 1
    return round(parted * min(1.0, 0.5 + above), 2)
