"""Drawings on a frame: the format they are kept in, checked, and what is to be painted of them.

    {"schema": "drawing/1", "aspect": 1.77778, "shapes": [
        {"k": "line", "p": [[0.1, 0.2], [0.4, 0.5]], "w": 0.008}, …]}

`k` is line, arrow, free, ellipse (two corners of its box), angle (end, vertex, end) or text
(where its first letter stands). Points `p` are shares of the frame's width and height, `w` is the
stroke's width as a share of the height. A text has its words `s` and their size `h`; an angle has
`e`, the spread of the hand that pointed at it: one standard deviation, a share of the height too.

There is one ink, so there is no colour. What is painted is measured in units of which a frame is
1000 high; `static/js/drawing/shapes.js` works it out the same way in the browser.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

SCHEMA: Final = "drawing/1"
HIGH: Final = 1000
CHALK, CASING = "#fff6dc", "#14262b"
CLOTH, CLOTH_EDGE, FIGURE = "#fffdf7", "#3a4648", "#1a2326"

MOST_SHAPES, MOST_POINTS, MOST_LETTERS, MOST_BYTES = 64, 2048, 80, 64 * 1024
POINTS: Final = {
    "line": (2, 2),
    "arrow": (2, 2),
    "free": (2, 512),
    "ellipse": (2, 2),
    "angle": (3, 3),
    "text": (1, 1),
}
OWN: Final = {"text": {"s", "h"}, "angle": {"e"}}
BOUNDS: Final = {"aspect": (0.2, 5), "w": (0.001, 0.05), "h": (0.02, 0.2), "e": (0.0005, 0.1)}
EDGE = (-0.05, 1.05)
SHORTEST_LEG = 0.004
DIGITS = 5
UNSURE = 5
"""An angle whose spread is more degrees than this says little."""

# What the fonts that come with us can write; another letter would be another font's on each side.
WRITABLE = re.compile("[ -~¡-¬®-ž–—‘’“”…€]*")

Point = tuple[float, float]


class Malformed(Exception):
    """This is no drawing. `what` names the trouble, `values` fill its words."""

    def __init__(self, what: str, **values: object) -> None:
        super().__init__(f"{what} {values}" if values else what)
        self.what, self.values = what, values


@dataclass(frozen=True)
class Shape:
    kind: str
    points: tuple[Point, ...]
    width: float
    words: str = ""
    size: float = 0
    spread: float = 0

    def as_json(self) -> dict[str, Any]:
        own: dict[str, dict[str, Any]] = {
            "text": {"s": self.words, "h": self.size},
            "angle": {"e": self.spread},
        }
        points = [list(point) for point in self.points]
        return {"k": self.kind, "p": points, "w": self.width, **own.get(self.kind, {})}


@dataclass(frozen=True)
class Drawing:
    aspect: float
    shapes: tuple[Shape, ...]

    def as_json(self) -> dict[str, Any]:
        shapes = [shape.as_json() for shape in self.shapes]
        return {"schema": SCHEMA, "aspect": self.aspect, "shapes": shapes}


# ---- reading


def read(sent: object) -> Drawing:
    """Raises Malformed. Numbers are rounded, so that what is kept reads the same again."""
    fields = _fields(sent, {"schema", "aspect", "shapes"}, where="drawing")
    if fields["schema"] != SCHEMA:
        raise Malformed("schema", found=_quote(fields["schema"]), known=SCHEMA)
    shapes = fields["shapes"]
    if not isinstance(shapes, list) or not 1 <= len(shapes) <= MOST_SHAPES:
        count = len(shapes) if isinstance(shapes, list) else _quote(shapes)
        raise Malformed("shapes", found=count, most=MOST_SHAPES)
    drawing = Drawing(
        _number(fields["aspect"], "aspect", *BOUNDS["aspect"]),
        tuple(_shape(each, place) for place, each in enumerate(shapes, start=1)),
    )
    points = sum(len(shape.points) for shape in drawing.shapes)
    if points > MOST_POINTS:
        raise Malformed("points", found=points, most=MOST_POINTS)
    for place, shape in enumerate(drawing.shapes, start=1):
        if shape.kind == "angle" and min(_legs(shape, drawing.aspect)) < SHORTEST_LEG:
            raise Malformed("leg", place=place)
    size = len(json.dumps(drawing.as_json(), ensure_ascii=False).encode())
    if size > MOST_BYTES:
        raise Malformed("bytes", found=size, most=MOST_BYTES)
    return drawing


def _shape(sent: object, place: int) -> Shape:
    kind = sent.get("k") if isinstance(sent, dict) else None
    if not isinstance(kind, str) or kind not in POINTS:
        raise Malformed("kind", place=place, found=_quote(kind), known=", ".join(POINTS))
    fields = _fields(sent, {"k", "p", "w"} | OWN.get(kind, set()), where=str(place))
    points, (fewest, most) = fields["p"], POINTS[kind]
    if not isinstance(points, list) or not fewest <= len(points) <= most:
        count = len(points) if isinstance(points, list) else _quote(points)
        allowed = str(fewest) if fewest == most else f"{fewest}-{most}"
        raise Malformed("count", place=place, kind=kind, found=count, allowed=allowed)
    own = {
        name: _number(fields[name], name, *BOUNDS[name]) for name in ("h", "e") if name in fields
    }
    return Shape(
        kind,
        tuple(_point(point) for point in points),
        _number(fields["w"], "w", *BOUNDS["w"]),
        words=_words(fields["s"]) if "s" in fields else "",
        size=own.get("h", 0),
        spread=own.get("e", 0),
    )


def _fields(sent: object, names: set[str], *, where: str) -> dict[str, Any]:
    if not isinstance(sent, dict):
        raise Malformed("object", where=where, found=_quote(sent))
    if sent.keys() != names:
        odd = sorted(map(str, sent.keys() ^ names))
        raise Malformed("fields", where=where, found=_quote(", ".join(odd)))
    return sent


def _point(sent: object) -> Point:
    if not isinstance(sent, list) or len(sent) != 2:
        raise Malformed("point", found=_quote(sent))
    x, y = (_number(each, "p", *EDGE) for each in sent)
    return x, y


def _number(sent: object, name: str, low: float, high: float) -> float:
    is_number = isinstance(sent, int | float) and not isinstance(sent, bool)
    # Compared before it is turned: an integer may be larger than any float.
    if not is_number or not low <= sent <= high:  # type: ignore[operator]
        raise Malformed("number", name=name, found=_quote(sent), low=low, high=high)
    return round(float(sent), DIGITS)  # type: ignore[arg-type]


def _words(sent: object) -> str:
    if not isinstance(sent, str) or not sent.strip() or len(sent) > MOST_LETTERS:
        count = len(sent) if isinstance(sent, str) else _quote(sent)
        raise Malformed("letters", found=count, most=MOST_LETTERS)
    written = WRITABLE.match(sent)
    assert written is not None  # noqa: S101  it matches nothing at all, too
    if written.end() < len(sent):
        raise Malformed("letter", found=sent[written.end()])
    return sent


def _quote(found: object) -> str:
    text = found if isinstance(found, str) else repr(found)
    return text if len(text) <= 40 else f"{text[:39]}…"


# ---- angles, in pixels: shares of width and height are not alike


def degrees(shape: Shape, aspect: float) -> float:
    """Between the legs of an angle, 0 to 180."""
    (ax, ay), (bx, by) = _legs_from_vertex(shape, aspect)
    return math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))


def spread(shape: Shape, aspect: float) -> float:
    """One standard deviation in degrees, if each of the three points was met to within `e`.

    Each end moves the angle by what it moves across its leg; the vertex by both at once.
    """
    (ax, ay), (bx, by) = _legs_from_vertex(shape, aspect)
    a, b = ax * ax + ay * ay, bx * bx + by * by
    turn = math.copysign(1, ax * by - ay * bx)
    from_a = (turn * ay / a, -turn * ax / a)
    from_b = (-turn * by / b, turn * bx / b)
    from_vertex = (-from_a[0] - from_b[0], -from_a[1] - from_b[1])
    moved = sum(x * x + y * y for x, y in (from_a, from_b, from_vertex))
    return math.degrees(shape.spread * math.sqrt(moved))


def figure(shape: Shape, aspect: float) -> str:
    """What stands on the scrap of cloth: whole degrees, and how far off they may be."""
    off = max(1, math.ceil(spread(shape, aspect)))
    return f"{_half_up(degrees(shape, aspect))}° ± {min(off, 180)}°"


def _half_up(number: float) -> int:
    """As the browser rounds."""
    return math.floor(number + 0.5)


def _legs_from_vertex(shape: Shape, aspect: float) -> tuple[Point, Point]:
    (ax, ay), (vx, vy), (bx, by) = shape.points
    return ((ax - vx) * aspect, ay - vy), ((bx - vx) * aspect, by - vy)


def _legs(shape: Shape, aspect: float) -> tuple[float, float]:
    one, other = _legs_from_vertex(shape, aspect)
    return math.hypot(*one), math.hypot(*other)


# ---- what is painted, in units of which the frame is 1000 high


@dataclass(frozen=True)
class Line:
    points: tuple[Point, ...]
    width: float


@dataclass(frozen=True)
class Letters:
    words: str
    at: Point
    """Where the base line of the first letter begins."""
    size: float


@dataclass(frozen=True)
class Painted:
    """Casing under chalk, then cloth, then the figure on it."""

    lines: tuple[Line, ...] = ()
    head: tuple[Point, ...] = ()
    """Of an arrow: a triangle."""
    casing: float = 0
    """How far the casing stands out on each side."""
    letters: Letters | None = None
    scrap: tuple[Point, ...] = ()
    figure: Letters | None = None


CASING_SHARE, LETTER_CASING = 0.42, 0.08
HEAD, HEAD_SHARE, SHAFT = 5, 0.6, 0.9
ROUND = 96
# Widths of the figure's letters in Literata, as shares of their size.
FIGURE_SIZE = 44
FIGURE_WIDTHS: Final = dict(
    zip(
        "0123456789° ±",
        (0.601, 0.411, 0.526, 0.552, 0.582, 0.529, 0.566, 0.528, 0.573, 0.555, 0.353, 0.2, 0.582),
        strict=True,
    )
)
PADDING, SCRAP_HIGH, NOTCH, GAP = 16, 62, 14, 26


def painted(drawing: Drawing) -> list[Painted]:
    return [_painted(shape, drawing.aspect) for shape in drawing.shapes]


def _painted(shape: Shape, aspect: float) -> Painted:
    points = tuple((x * aspect * HIGH, y * HIGH) for x, y in shape.points)
    width = shape.width * HIGH
    casing = width * CASING_SHARE
    match shape.kind:
        case "arrow":
            shaft, head = _arrow(points, width)
            return Painted((Line(shaft, width),), head, casing)
        case "ellipse":
            return Painted((Line(_ring(*points), width),), (), casing)
        case "angle":
            return _angle(shape, points, aspect)
        case "text":
            return Painted(letters=Letters(shape.words, points[0], shape.size * HIGH))
        case _:
            return Painted((Line(points, width),), (), casing)


def _arrow(points: tuple[Point, ...], width: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    (ax, ay), (bx, by) = points
    long = math.hypot(bx - ax, by - ay)
    if long == 0:
        return points, ()
    ux, uy = (bx - ax) / long, (by - ay) / long
    head = min(HEAD * width, HEAD_SHARE * long)
    foot = (bx - ux * head, by - uy * head)
    half = head / 2
    sides = ((foot[0] - uy * half, foot[1] + ux * half), (foot[0] + uy * half, foot[1] - ux * half))
    end = (bx - ux * head * SHAFT, by - uy * head * SHAFT)
    return ((ax, ay), end), ((bx, by), *sides)


def _ring(one: Point, other: Point) -> tuple[Point, ...]:
    x, y = (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
    across, down = abs(one[0] - other[0]) / 2, abs(one[1] - other[1]) / 2
    turns = [2 * math.pi * step / ROUND for step in range(ROUND + 1)]
    return tuple((x + across * math.cos(turn), y + down * math.sin(turn)) for turn in turns)


def _angle(shape: Shape, points: tuple[Point, ...], aspect: float) -> Painted:
    (ax, ay), (vx, vy), (bx, by) = points
    width = shape.width * HIGH
    legs = _legs(shape, aspect)
    radius = min(90, 0.45 * HIGH * min(legs))
    start = math.atan2(ay - vy, ax - vx)
    sweep = math.atan2(by - vy, bx - vx) - start
    sweep = (sweep + math.pi) % (2 * math.pi) - math.pi
    steps = max(2, math.ceil(abs(sweep) / 0.05))
    turns = [start + sweep * step / steps for step in range(steps + 1)]
    arc = tuple((vx + radius * math.cos(turn), vy + radius * math.sin(turn)) for turn in turns)
    words = figure(shape, aspect)
    scrap, letters = _scrap(words, (vx, vy), start + sweep / 2, radius, aspect)
    return Painted(
        (Line(points, width), Line(arc, width * 0.6)),
        (),
        width * CASING_SHARE,
        scrap=scrap,
        figure=letters,
    )


def _scrap(
    words: str, vertex: Point, middle: float, radius: float, aspect: float
) -> tuple[tuple[Point, ...], Letters]:
    """Behind the vertex, where no leg runs; if that is off the frame, beyond the arc."""
    long = sum(FIGURE_WIDTHS[letter] for letter in words) * FIGURE_SIZE
    across, down = long / 2 + PADDING, SCRAP_HIGH / 2
    ux, uy = math.cos(middle), math.sin(middle)
    reach = (across + NOTCH) * abs(ux) + down * abs(uy) + GAP
    right, low = aspect * HIGH - across - NOTCH, HIGH - down
    x, y = vertex[0] - ux * reach, vertex[1] - uy * reach
    if not (across <= x <= right and down <= y <= low):
        x, y = vertex[0] + ux * (radius + reach), vertex[1] + uy * (radius + reach)
    x, y = min(max(x, across), right), min(max(y, down), low)
    left, top, end, bottom = x - across, y - down, x + across, y + down
    scrap = (
        (left, top),
        (end + NOTCH, top),
        (end, y),
        (end + NOTCH, bottom),
        (left, bottom),
    )
    return scrap, Letters(words, (left + PADDING, y + FIGURE_SIZE * 0.35), FIGURE_SIZE)


def bounds(parts: Painted) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all that is painted, but for the letters of a text."""
    points = [*parts.head, *parts.scrap, *(p for line in parts.lines for p in line.points)]
    most = max((line.width for line in parts.lines), default=0) / 2 + parts.casing + 2
    return _around(points, most)


def _around(points: Iterable[Point], more: float) -> tuple[float, float, float, float]:
    xs, ys = zip(*points, strict=True)
    return min(xs) - more, min(ys) - more, max(xs) + more, max(ys) + more
