"""The times of a film's frames, told to the browser in few words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise


def steps(times: Sequence[int]) -> list[list[int]]:
    """Run lengths of the differences between frame times: [[ticks, how often in a row], …].

    A steady film is one pair, however long it is; frame k stands at times[0] plus the first k
    differences.
    """
    gaps = (after - before for before, after in pairwise(times))
    return [[gap, sum(1 for _ in run)] for gap, run in groupby(gaps)]
