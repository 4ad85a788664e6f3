"""Freestyle along the lane, away from the wall."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from portal.demo.drawing.body import MOTION, Pose
from portal.demo.drawing.curves import Curve, around, through
from portal.demo.drawing.moves import LANE_METRES, Move

TABLE = MOTION["free"]
BODY = TABLE["body"]
AT = np.array(TABLE["at"])
HALF_A_CYCLE = {"L": 0.0, "R": 0.5}
BOB_METRES = 0.012


@dataclass(frozen=True, kw_only=True)
class Freestyle:
    """How it is swum; the defaults are a good stroke."""

    rate: float = 44
    """Cycles of both arms a minute."""
    catch: str = "high elbow"
    """Or "dropped"."""
    breathe_every: int = 2
    """Arm strokes; always toward the lens. 0: never."""
    head_up: float = 0.0
    """Degrees."""
    speed: float = 1.45
    """Metres a second."""

    @property
    def period(self) -> float:
        return 60 / self.rate


def swum(stroke: Freestyle, *, seconds: float, rate: int, start: float = 3.0) -> Move:
    """`start`: metres from the wall."""
    curves = _arm_curves(stroke)
    times = np.arange(round(seconds * rate)) / rate
    breaths = [_breath(stroke, float(t) / stroke.period) for t in times]
    poses = [
        _pose(stroke, curves, float(t) / stroke.period, breath)
        for t, breath in zip(times, breaths, strict=True)
    ]
    bob = 4 * np.pi * times / stroke.period
    hips = np.column_stack(
        [
            start + stroke.speed * times + BOB_METRES * np.sin(bob),
            -BODY["depth"] + BOB_METRES * np.sin(bob + 1),
            np.full(len(times), LANE_METRES),
        ]
    )
    return Move(
        rate=rate,
        poses=poses,
        hips=hips,
        heading=1,
        events=_events(stroke, seconds=seconds),
        breathes_out=[breath < 0.1 for breath in breaths],
        shows={"move": "free", **asdict(stroke)},
    )


def _arm_curves(stroke: Freestyle) -> dict[str, Curve]:
    """Each channel over the share of one arm's cycle."""
    rows = TABLE["pose"] | (TABLE["dropped"] if stroke.catch == "dropped" else {})
    curves = {name: around(AT, row, period=1.0) for name, row in rows.items()}
    # The upper arm goes all the way round, so that its angle goes on from cycle to cycle.
    upper = np.array(rows["upper"], float)
    turning = through(np.r_[AT - 1, AT, AT + 1], np.r_[upper - 360, upper, upper + 360])
    curves["upper"] = lambda share: turning(np.mod(share, 1))
    return curves


def _pose(stroke: Freestyle, curves: dict[str, Curve], cycle: float, breath: float) -> Pose:
    roll = BODY["roll"] * float(np.cos(2 * np.pi * (cycle - 0.10)))
    pose: Pose = {
        "pelvis": BODY["line"],
        "chest": 1.0,
        "head": 4.0 + stroke.head_up,
        "depth": BODY["depth"],
        "roll": roll,
        "hip_roll": BODY["hip_roll"],
        "head_roll": -roll * 0.85 * (1 - breath) + breath * (-BODY["breath_turn"] - roll),
        "thigh_out": 1.0,
        "shank_out": 0.0,
    }
    beat = np.pi * cycle * BODY["kicks_per_cycle"]
    for side, later in HALF_A_CYCLE.items():
        pose |= {name + side: float(curve(cycle + later)) for name, curve in curves.items()}
        phase = float(beat + 2 * np.pi * later)
        pose["hip" + side] = 7 + BODY["hip_amp"] * float(np.sin(phase))
        pose["knee" + side] = 4 + BODY["knee_amp"] * 0.5 * (1 + float(np.sin(phase + 1.9)))
        pose["ankle" + side] = 82 + 8 * float(np.sin(phase))
    return pose


def _breath(stroke: Freestyle, cycle: float) -> float:
    """How far the head is turned to breathe, 0 to 1."""
    every = max(1, stroke.breathe_every // 2)
    if not stroke.breathe_every or int(np.floor(cycle - 0.1)) % every:
        return 0.0
    off = (cycle % 1.0 - BODY["breath_at"] + 0.5) % 1 - 0.5
    return float(np.exp(-((off / 0.13) ** 2)))


def _events(stroke: Freestyle, *, seconds: float) -> list[tuple[str, float]]:
    found = [
        (f"{side} {name}", (cycle + float(at) - later) * stroke.period)
        for cycle in range(int(seconds / stroke.period) + 2)
        for side, later in (("left", 0.0), ("right", 0.5))
        for name, at in zip(TABLE["name"], AT, strict=True)
    ]
    return sorted(
        ((name, at) for name, at in found if 0 <= at < seconds), key=lambda event: event[1]
    )
