"""The times of a film's frames, stored and told to the browser in few words."""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from itertools import accumulate, groupby, pairwise


def steps(times: Sequence[int]) -> list[list[int]]:
    """Run lengths of the differences between frame times: [[ticks, how often in a row], …].

    A steady film is one pair, however long it is; frame k stands at times[0] plus the first k
    differences.
    """
    gaps = (after - before for before, after in pairwise(times))
    return [[gap, sum(1 for _ in run)] for gap, run in groupby(gaps)]


def pack_times(ticks: list[int]) -> bytes:
    """Differences pack well: a steady film is one number over and over."""
    gaps = [after - before for before, after in pairwise([0, *ticks])]
    return zlib.compress(json.dumps(gaps, separators=(",", ":")).encode())


def unpack_times(packed: bytes) -> list[int]:
    return list(accumulate(json.loads(zlib.decompress(packed))))
