"""Breaststroke along the lane, away from the wall."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from portal.demo.drawing.body import MOTION, Pose
from portal.demo.drawing.curves import Curve, Numbers, around, table
from portal.demo.drawing.moves import LANE_METRES, Move

TABLE = MOTION["breast"]
FAULT = TABLE["fault"]
AT = np.array(TABLE["at"])
ROWS = {name: row for name, row in TABLE["pose"].items() if name != "speed"}
RISING = ("chest", "head", "pelvis")
STEPS_A_SECOND = 240
NO_GLIDE = 0.02
"""Seconds; below it the glide's key would fall on the next outsweep's."""


class NoTime(Exception):
    """The stroke does not fit into its cycle."""


@dataclass(frozen=True, kw_only=True)
class Breaststroke:
    """How it is swum; the defaults are a good stroke."""

    rate: float = 34
    """Cycles a minute."""
    glide_s: float = 0.55
    heel_height: float = 1.0
    """1: to the seat; 0: half way."""
    breath: str = "early"
    """Or "late"."""
    recovery_drop: float = 0.0
    """Degrees by which the arms go forward too deep."""
    head_up: float = 0.0
    """Degrees in the glide."""
    line: float = 0.0
    """Degrees by which the body slopes in the glide: hands and head stay up, hips sink."""
    knee_width: float = 1.0
    """Times as far apart as good knees."""
    speed: float = 1.15
    """Metres a second, mean."""

    @property
    def period(self) -> float:
        return 60 / self.rate

    @property
    def active(self) -> float:
        """Seconds of the cycle before the glide."""
        return self.period - self.glide_s


def swum(
    stroke: Breaststroke, *, seconds: float, rate: int, start: float = 3.0, lead: float = 0.0
) -> Move:
    """`start`: metres from the wall; `lead`: seconds into the cycle at frame 0."""
    if stroke.active <= 0.6:
        raise NoTime(
            f"A glide of {stroke.glide_s} s leaves {stroke.active:.2f} s for the stroke at "
            f"{stroke.rate} cycles a minute. Make it shorter, or the rate lower."
        )
    curves = {name: _curve(stroke, name, row) for name, row in ROWS.items()}
    times = np.arange(round(seconds * rate)) / rate + lead
    poses: list[Pose] = [{name: float(curve(t)) for name, curve in curves.items()} for t in times]
    hips = np.column_stack(
        [
            start + _way(stroke, times, until=seconds + lead + 0.1),
            [-pose["depth"] for pose in poses],
            np.full(len(poses), LANE_METRES),
        ]
    )
    share = (times % stroke.period) / stroke.active
    return Move(
        rate=rate,
        poses=poses,
        hips=hips,
        heading=1,
        events=_events(stroke, seconds=seconds, lead=lead),
        breathes_out=[bool(each) for each in (share > 0.75) | (share < 0.12)],
        shows={"move": "breast", **asdict(stroke)},
    )


def _curve(stroke: Breaststroke, name: str, row: list[float]) -> Curve:
    """The channel over the seconds of the cycle, faults and all."""
    keys = AT * stroke.active
    if stroke.breath == "late" and name in RISING:
        later = table((0, 0.12, 0.7, 1), (0, 1, 0.6, 0), AT)
        keys = keys + FAULT["breath_late"] * stroke.active * later
    values = _faulty(stroke, name, np.array(row, float))
    return _around(stroke, keys, values)


def _around(stroke: Breaststroke, keys: Numbers, values: Numbers) -> Curve:
    kept = slice(None) if stroke.glide_s > NO_GLIDE else slice(-1)
    return around(keys[kept], values[kept], period=stroke.period)


def _faulty(stroke: Breaststroke, name: str, values: Numbers) -> Numbers:
    if name == "knee":
        low, high = float(FAULT["knee_low_heels"]), float(values.max())
        return values * (low + stroke.heel_height * (high - low)) / high
    if name == "thigh_out":
        return values * stroke.knee_width
    if name == "head":
        return values + stroke.head_up * table(
            (0, 0.2, 0.4, 0.6, 0.8, 1), (1, 0.6, 0.3, 0.5, 1, 1), AT
        )
    sink = stroke.line * table((0, 0.3, 0.55, 1), (1, 0.5, 0.5, 1), AT)
    if name in ("upper", "fore"):
        drop = table((0.34, 0.44, 0.54, 0.64, 0.80), (0, 0.5, 1, 0.8, 0), AT)
        return values + stroke.recovery_drop * drop + 0.8 * sink
    return values + {"pelvis": 1.0, "depth": 0.0105}.get(name, 0.0) * sink


def _way(stroke: Breaststroke, times: Numbers, *, until: float) -> Numbers:
    """Metres swum at `times`: fast after the kick, slow while the legs are drawn up."""
    speed = _around(stroke, AT * stroke.active, np.array(TABLE["pose"]["speed"], float))
    mean = float(speed(np.linspace(0, stroke.period, 400, endpoint=False)).mean())
    steps = np.arange(0, until, 1 / STEPS_A_SECOND)
    metres = np.cumsum(speed(steps)) / STEPS_A_SECOND * stroke.speed / mean
    return np.asarray(np.interp(times, steps, metres))


def _events(stroke: Breaststroke, *, seconds: float, lead: float) -> list[tuple[str, float]]:
    cycles = range(int((seconds + lead) / stroke.period) + 1)
    all_events = (
        (name, float(cycle * stroke.period + at * stroke.active - lead))
        for cycle in cycles
        for name, at in zip(TABLE["name"], AT, strict=True)
    )
    return [(name, at) for name, at in all_events if 0 <= at < seconds]
