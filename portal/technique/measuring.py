"""Figures that a coach derives by marking moments. Knows no database and judges nothing.

Times are presentation times in seconds, never frame numbers over a nominal rate: telephones film
at an uneven one. Lengths are in metres. A cycle is two arm strokes in freestyle and backstroke and
one in breaststroke and butterfly; everything is kept in cycles, and arm strokes are for showing.

Where in its frame's time a moment lies is not known, so an interval between two marks is off by
one gap between frames at the most; a figure carries what that makes of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot, radians, sqrt

# International yard, exactly.
METRES_A_YARD = 0.9144
LANE_LINE_ENDS = 2.0
ARM_STROKES_A_CYCLE = {"free": 2, "back": 2, "breast": 1, "fly": 1}

Point = tuple[float, float]


class NoFigure(ValueError):
    """These marks give no figure; the message says which mark to set anew."""


@dataclass(frozen=True)
class Interval:
    """Seconds between two marks."""

    seconds: float
    worst: float
    """At most so many seconds off: the larger gap between frames at either mark."""

    @property
    def deviation(self) -> float:
        """Standard deviation, each mark lying anywhere within its frame."""
        return self.worst / sqrt(6)


@dataclass(frozen=True)
class Figure:
    value: float
    low: float
    high: float
    """What it may be, given the frames."""


def interval(begins: float, ends: float, *, gap: float) -> Interval:
    """`gap`: seconds from one frame to the next, the larger one at either mark."""
    if ends <= begins:
        raise NoFigure("The second mark lies before the first. Set it later.")
    if gap <= 0:
        raise NoFigure("Frames have to be some time apart.")
    return Interval(ends - begins, gap)


def stroke_rate(cycles: float, took: Interval) -> Figure:
    """Cycles a minute."""
    return _over(60 * _some(cycles), took)


def cycle_time(cycles: float, took: Interval) -> Figure:
    """Seconds a cycle."""
    ends = (took.seconds, took.seconds - took.worst, took.seconds + took.worst)
    value, low, high = (seconds / _some(cycles) for seconds in ends)
    return Figure(value, low, high)


def arm_strokes(rate: float, stroke: str) -> float:
    """A minute, from cycles a minute."""
    return rate * ARM_STROKES_A_CYCLE[stroke]


def velocity(metres: float, took: Interval) -> Figure:
    """Metres a second between two places whose distance is known, the head passing both."""
    return _over(_some(metres), took)


def distance_per_cycle(speed: float, rate: float) -> float:
    """Metres, from metres a second and cycles a minute of the same stretch of swimming."""
    return speed * 60 / _some(rate)


def distance_per_counted_cycle(pool: float, breakout: float, cycles: float) -> float:
    """Metres. What is swum under water is not stroked: a whole length over the count flatters."""
    if not 0 <= breakout < pool:
        raise NoFigure("The breakout lies within the length. Set it anew.")
    return (pool - breakout) / _some(cycles)


def stroke_index(speed: float, metres_a_cycle: float) -> float:
    """Square metres a second. To be compared within one swimmer, stroke and pace only."""
    return speed * metres_a_cycle


def turn(towards: Interval, away: Interval) -> Interval:
    """From the head passing the mark before the wall to its passing the mark after it."""
    return Interval(towards.seconds + away.seconds, towards.worst + away.worst)


def split(times: Sequence[float]) -> list[float]:
    """Seconds of each lap, from the clock at the end of each."""
    before = [0.0, *times]
    if any(after <= earlier for earlier, after in zip(before, times, strict=False)):
        raise NoFigure("A clock only goes on. One of these times is earlier than the one before.")
    return [after - earlier for earlier, after in zip(before, times, strict=False)]


@dataclass(frozen=True)
class Pullout:
    """Of breaststroke, from the feet leaving the wall; seconds."""

    line: Interval
    """Held long, until the arms begin to pull down."""
    kick: float | None
    """When the downward kick came; None if none was marked."""
    pull: Interval
    """From the pull-down to the breaststroke kick that ends it."""

    @property
    def kick_with_pull(self) -> bool | None:
        """Whether the downward kick came once the pull-down had begun."""
        return None if self.kick is None else self.kick >= self.line.seconds


def pullout(
    wall: float, pull: float, kick_out: float, *, gap: float, kick: float | None = None
) -> Pullout:
    """From the moments at which each begins."""
    if kick is not None and not wall < kick < kick_out:
        raise NoFigure("The downward kick lies between the wall and the kick. Set it anew.")
    return Pullout(
        line=interval(wall, pull, gap=gap),
        kick=None if kick is None else kick - wall,
        pull=interval(pull, kick_out, gap=gap),
    )


def kick_rate(kicks: float, took: Interval) -> Figure:
    """Downbeats a second."""
    return _over(_some(kicks), took)


def strouhal(kicks_a_second: float, amplitude: float, speed: float) -> float:
    """Of one swimmer; the ratio of two means is not the mean of the ratios."""
    return kicks_a_second * amplitude / _some(speed)


def share(of: float, in_all: float) -> float:
    """Such as the glide's of a cycle: the same unit in both, 0 to 1."""
    if not 0 <= of <= in_all or in_all == 0:
        raise NoFigure("A part lies within the whole. Set the marks anew.")
    return of / in_all


def relay_gap(touch: float, toe_off: float, *, gap: float) -> Interval:
    """Seconds from the touch until the toes leave; negative means too early. It is one camera,
    not a judge."""
    return Interval(toe_off - touch, gap)


def points(base: int, time: int) -> int:
    """1000 x (base / time)^3, cut off, of times in hundredths of a second. In whole numbers:
    floating ones lose a point now and then."""
    if base <= 0 or time <= 0:
        raise NoFigure("A time is more than nothing.")
    return int(1000 * base**3 // time**3)


def metres(yards: float) -> float:
    return yards * METRES_A_YARD


@dataclass(frozen=True)
class Rope:
    """A straight lane rope in the picture: metres at a pixel along it."""

    a: float
    b: float
    c: float

    def metres(self, pixel: float) -> float:
        return (self.a * pixel + self.b) / (self.c * pixel + 1)


def calibrate(marks: Sequence[float], pixels: Sequence[float]) -> Rope:
    """From three marks of known distance; a straight line would be wrong, as a camera seldom
    stands square to the rope."""
    if len(marks) != 3 or len(pixels) != 3 or len(set(pixels)) != 3:
        raise NoFigure("Three different marks on the rope are needed.")
    rows = [[u, 1.0, -u * x, x] for u, x in zip(pixels, marks, strict=True)]
    a, b, c = _solved(rows)
    return Rope(a, b, c)


def cross_ratio(p: float, q: float, r: float, s: float) -> float:
    """The same in metres and in pixels, whatever the camera: a fourth mark tries the three."""
    return ((r - p) * (s - q)) / ((r - q) * (s - p))


def parallax(camera_to_rope: float, rope_to_swimmer: float) -> float:
    """The share by which a swimmer behind the rope looks too small."""
    return rope_to_swimmer / (camera_to_rope + rope_to_swimmer)


def angle(a: Point, b: Point, c: Point) -> float:
    """Degrees at the middle point, in square pixels: shares of width and height give another."""
    one, other = (a[0] - b[0], a[1] - b[1]), (c[0] - b[0], c[1] - b[1])
    if hypot(*one) == 0 or hypot(*other) == 0:
        raise NoFigure("The three points have to differ.")
    cross = one[0] * other[1] - one[1] * other[0]
    return abs(degrees(atan2(cross, one[0] * other[0] + one[1] * other[1])))


def slope(across: float, down: float) -> float:
    """Degrees to the horizontal, in square pixels."""
    return abs(degrees(atan2(down, across)))


def times_as_wide(one: float, other: float) -> float:
    """Such as the gap between the knees over the width of the hips, both on one still."""
    return _some(one) / _some(other)


def pool_of_lane_line(line: float) -> float:
    """The length of a pool from its lane line on the floor, which ends 2 m before either wall."""
    return _some(line) + 2 * LANE_LINE_ENDS


def sooner_to_15(*, further: float = 0, faster: float = 0, flatter: float = 0) -> float:
    """Seconds that a start saves by metres further, metres a second faster and degrees flatter at
    the entry, as one sample had it (van Dijk, Beek, van Soest 2020): a hint, no law."""
    return 0.6 * further + 0.3 * faster + 0.5 * radians(flatter)


def _over(amount: float, took: Interval) -> Figure:
    if took.worst >= took.seconds:
        raise NoFigure("The marks are too close for so few frames. Take more cycles or metres.")
    return Figure(
        amount / took.seconds,
        amount / (took.seconds + took.worst),
        amount / (took.seconds - took.worst),
    )


def _some(amount: float) -> float:
    if amount <= 0:
        raise NoFigure("This has to be more than nothing.")
    return amount


def _solved(rows: list[list[float]]) -> list[float]:
    """Three linear equations, by elimination with the largest pivot."""
    for place in range(3):
        best = max(range(place, 3), key=lambda row: abs(rows[row][place]))
        rows[place], rows[best] = rows[best], rows[place]
        if rows[place][place] == 0:
            raise NoFigure("These marks do not lie on one rope. Set them anew.")
        for row in range(3):
            if row != place:
                times = rows[row][place] / rows[place][place]
                rows[row] = [x - times * y for x, y in zip(rows[row], rows[place], strict=True)]
    return [rows[place][3] / rows[place][place] for place in range(3)]
