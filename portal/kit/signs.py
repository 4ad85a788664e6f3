"""The visual alphabet: one drawing of each sign for page, mail, paper and still.

A sign lives in a box of 24 x 24. SVG carries its paint as attributes, because the maker of
PDFs ignores a page's classes inside an inline SVG; the classes only recolour it on screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import assert_never

from PIL import Image, ImageDraw

BOX = 24

# Blue and vermilion are the Okabe-Ito pair that colour-blind people tell apart.
PAINT = {
    "good": "#0072b2",
    "work": "#d55e00",
    "legal": "#111111",
    "legal-bar": "#ffffff",
    "quiet": "#586362",
}


class Sign(StrEnum):
    GOOD = "good"
    BOTH = "both seen"
    WORK_ON = "work on"
    NOT_LEGAL = "not legal"
    NOT_LOOKED_AT = "not looked at"
    GAP = "gap"


@dataclass(frozen=True)
class Ring:
    radius: float
    width: float
    paint: str


@dataclass(frozen=True)
class Disc:
    radius: float
    paint: str


@dataclass(frozen=True)
class LeftHalf:
    """The left half of a disc."""

    radius: float
    paint: str


@dataclass(frozen=True)
class Shape:
    points: tuple[tuple[float, float], ...]
    paint: str


Part = Ring | Disc | LeftHalf | Shape


def _bar(left: float, top: float, right: float, bottom: float, paint: str) -> Shape:
    return Shape(((left, top), (right, top), (right, bottom), (left, bottom)), paint)


SIGNS: dict[Sign, tuple[Part, ...]] = {
    Sign.GOOD: (Ring(8, 3.6, "good"),),
    Sign.BOTH: (Ring(8.6, 2.4, "work"), LeftHalf(8.6, "work")),
    Sign.WORK_ON: (Disc(9.8, "work"),),
    Sign.NOT_LEGAL: (
        Shape(((12, 0.6), (23.4, 12), (12, 23.4), (0.6, 12)), "legal"),
        _bar(6, 10.4, 18, 13.6, "legal-bar"),
    ),
    Sign.NOT_LOOKED_AT: (_bar(4, 10.2, 20, 13.8, "quiet"),),
    Sign.GAP: tuple(_bar(10.8, top, 13.2, top + 4, "quiet") for top in (1, 7, 13, 19)),
}


@cache
def svg_parts(sign: Sign) -> str:
    """The sign's shapes, to stand inside an <svg> with a viewBox of 0 0 24 24."""
    return "".join(_svg(part) for part in SIGNS[sign])


def _svg(part: Part) -> str:
    match part:
        case Ring(radius, width, paint):
            edge = "p-good" if paint == "good" else f"p-{paint}-edge"
            return (
                f'<circle class="{edge}" cx="12" cy="12" r="{radius}" fill="none" '
                f'stroke="{PAINT[paint]}" stroke-width="{width}"/>'
            )
        case LeftHalf(radius, paint):
            return (
                f'<path class="p-{paint}" d="M12 {12 - radius}A{radius} {radius} 0 0 0 12 '
                f'{12 + radius}Z" fill="{PAINT[paint]}"/>'
            )
        case Disc(radius, paint):
            return f'<circle class="p-{paint}" cx="12" cy="12" r="{radius}" fill="{PAINT[paint]}"/>'
        case Shape(points, paint):
            path = "L".join(f"{x} {y}" for x, y in points)
            return f'<path class="p-{paint}" d="M{path}Z" fill="{PAINT[paint]}"/>'
        case _:
            assert_never(part)


SMOOTH = 8


def picture(sign: Sign, size: int) -> Image.Image:
    """The sign as an RGBA picture of size x size pixels on nothing."""
    scale = size * SMOOTH / BOX
    layer = Image.new("RGBA", (size * SMOOTH, size * SMOOTH))
    pen = ImageDraw.Draw(layer)
    for part in SIGNS[sign]:
        _draw(pen, part, scale)
    return layer.resize((size, size), Image.Resampling.BOX)


def _draw(pen: ImageDraw.ImageDraw, part: Part, scale: float) -> None:
    match part:
        case Ring(radius, width, paint):
            outer = radius + width / 2
            pen.ellipse(_around(outer, scale), outline=PAINT[paint], width=round(width * scale))
        case LeftHalf(radius, paint):
            pen.pieslice(_around(radius, scale), 90, 270, fill=PAINT[paint])
        case Disc(radius, paint):
            pen.ellipse(_around(radius, scale), fill=PAINT[paint])
        case Shape(points, paint):
            pen.polygon([(x * scale, y * scale) for x, y in points], fill=PAINT[paint])
        case _:
            assert_never(part)


def _around(radius: float, scale: float) -> tuple[float, float, float, float]:
    low, high = (12 - radius) * scale, (12 + radius) * scale
    return (low, low, high, high)
