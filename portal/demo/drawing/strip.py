"""The frame's number in its top left corner, for machines: it outlives encoding and scaling.

White, black, the number in 16 bits with the highest first, and one cell that makes the count of
white ones among those bits and itself even.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

BITS = 16
CELL = 10
"""Pixels."""
WHITE, BLACK = 235, 16


class NoStrip(Exception):
    """The picture has no number in its corner, or one that was damaged."""


def put(picture: NDArray[Any], number: int) -> None:
    """The picture, height x width x 3, is at least 190 pixels wide."""
    bits = [(number >> place) & 1 for place in range(BITS - 1, -1, -1)]
    for place, bit in enumerate([1, 0, *bits, sum(bits) & 1]):
        picture[:CELL, place * CELL : (place + 1) * CELL] = WHITE if bit else BLACK


def read(picture: NDArray[np.uint8], *, scale: float = 1.0) -> int:
    """`scale`: the picture's width over the drawn one's. Raises NoStrip."""
    cell = CELL * scale
    rows = slice(int(cell * 0.3), max(int(cell * 0.3) + 1, int(cell * 0.7)))
    cells = [
        int(picture[rows, int((place + 0.3) * cell) : int((place + 0.7) * cell) + 1].mean() > 127)
        for place in range(BITS + 3)
    ]
    bits, even = cells[2:-1], cells[-1]
    if cells[:2] != [1, 0] or sum(bits) & 1 != even:
        raise NoStrip(f"The top left corner says {cells}. Draw the film with a strip first.")
    return int("".join(map(str, bits)), 2)
