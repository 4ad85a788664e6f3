"""Where flags hang on their line: sums only, in the units of the drawing's own box.

Numbers leave as text with a full stop, since a template would write them in the reader's
language and a path with commas for stops is no path.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

WIDTH = 390
MARGIN = 16
MOST = 6
"""On one line: more would be narrower than a thumb."""

TOP, SAG = 9, 11
LENGTH = 340
"""Of the string of one clip."""


@dataclass(frozen=True)
class Flag:
    """One pennant: its outline, the place of its sign, and of the words below it."""

    cloth: str
    middle: str
    sign_at: str
    sign_size: int
    word_at: str
    is_lowest: bool


@dataclass(frozen=True)
class Line:
    """A string with its flags; `height` is that of the box."""

    flags: list[Flag]
    height: int


def hang(count: int, *, lowest: int | None = None) -> list[Line]:
    """Spread `count` flags over as many lines as they need; flag `lowest` hangs low."""
    lines, first = [], 0
    for size in _sizes(count):
        numbers = range(first, first + size)
        flags = [
            _flag(_centre(place, size), is_lowest=number == lowest)
            for place, number in enumerate(numbers)
        ]
        lines.append(Line(flags, 112 if any(flag.is_lowest for flag in flags) else 106))
        first += size
    return lines


def string() -> str:
    return f"M0 {TOP}Q{WIDTH / 2:.0f} {TOP + 2 * SAG} {WIDTH} {TOP}"


def knot(place: float) -> str:
    """A small pennant on the string of a clip, at a share from 0 to 1 of it."""
    return _knot(place, 5, 10)


def large_knot(place: float) -> str:
    """That of the moment itself; it covers a small one at its place wholly."""
    return _knot(place, 6.5, 15)


def _knot(place: float, half: float, depth: float) -> str:
    x = 8 + place * (LENGTH - 16)
    return f"M{x - half:.1f} 4H{x + half:.1f}L{x:.1f} {4 + depth}Z"


def _sizes(count: int) -> list[int]:
    """Lines as even as they can be: seven flags hang as four and three."""
    lines = ceil(count / MOST)
    return [(count + lines - 1 - number) // lines for number in range(lines)]


def _centre(place: int, size: int) -> float:
    return MARGIN + (WIDTH - 2 * MARGIN) / size * (place + 0.5)


def _height(x: float) -> float:
    """Of the string, at x."""
    share = x / WIDTH
    return TOP + 4 * SAG * share * (1 - share)


def _flag(x: float, *, is_lowest: bool) -> Flag:
    half, depth, size = (28, 66, 24) if is_lowest else (21, 48, 18)
    left, right, tip = _height(x - half), _height(x + half), _height(x) + depth
    sign_top = _height(x) + (8 if is_lowest else 5.5)
    return Flag(
        cloth=f"M{x - half:.1f} {left:.1f}L{x + half:.1f} {right:.1f}L{x:.1f} {tip:.1f}Z",
        middle=f"{x:.1f}",
        sign_at=f"{x - size / 2:.1f} {sign_top:.1f}",
        sign_size=size,
        word_at=f"{tip + (20 if is_lowest else 18):.1f}",
        is_lowest=is_lowest,
    )
