"""A breaststroke turn: in to the wall, round, off it, the pull-out, and the first stroke away."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property

import numpy as np

from portal.demo.drawing import breaststroke
from portal.demo.drawing.body import MOTION, Pose, skeleton
from portal.demo.drawing.breaststroke import Breaststroke
from portal.demo.drawing.curves import Curve, Numbers, through
from portal.demo.drawing.moves import LANE_METRES, Move

TABLE = MOTION["turn"]
NAMES: list[str] = TABLE["name"]
ARM = ("upper", "upper_out", "fore", "fore_out")
TOWARD_THE_WALL = -1
STEPS_A_SECOND = 240
FROM_WALL_METRES = 0.02
"""Joints stand so far off: fingers and feet have flesh."""
APPROACH_SPEED = 1.35
"""Metres a second."""
# What gives speed: from, to, metres a second in all.
ACTIONS = (
    ("dolphin up", "dolphin end", 0.62),
    ("pull catch", "pull end", 1.25),
    ("kick", "breakout", 0.75),
)
SWIMMING = Breaststroke(rate=36, glide_s=0.3, speed=1.25)
BLEND_SECONDS = 0.35


@dataclass(frozen=True, kw_only=True)
class Turn:
    """How it is done; the defaults are a good turn."""

    streamline_s: float = 1.0
    """Toes off the wall to the first movement of the dolphin kick."""
    pause_s: float = 0.5
    """End of the dolphin kick until the hands part."""
    hold_s: float = 0.35
    """Hands at the thighs."""
    on_back: bool = False
    """Leaves the wall on the back."""
    hands_away: bool = False
    """Brings the hands forward far from the body."""
    touch: str = "both"
    """Or "one" hand."""
    push: float = 2.55
    """Metres a second off the wall."""


def swum(turn: Turn, *, seconds: float, rate: int, lead: float = 0.0) -> Move:
    """`lead`: seconds of gliding in before the table's first pose."""
    course = Course(turn)
    times = np.arange(round(seconds * rate)) / rate - lead
    poses = [course.pose(float(t)) for t in times]
    poses = _swimming_on(poses, times - course.done, rate=rate)
    hips = np.column_stack(
        [
            course.metres(times),
            [-pose["depth"] for pose in poses],
            np.full(len(poses), LANE_METRES),
        ]
    )
    at = course.at
    return Move(
        rate=rate,
        poses=poses,
        hips=hips,
        heading=TOWARD_THE_WALL,
        events=[(name, t + lead) for name, t in at.items() if 0 <= t + lead < seconds],
        breathes_out=[
            at["plant"] < t < at["toes off"] + 0.7 or at["pull catch"] < t < at["reach"]
            for t in times
        ],
        shows={"move": "turn", **asdict(turn)},
    )


class Course:
    """Where the swimmer is and in which pose, seconds after the first pose of the table.

    The hips follow from what holds the body: the hands at the touch, the feet from planting until
    the toes leave; after that speed, drag and what the swimmer does.
    """

    def __init__(self, turn: Turn) -> None:
        self.turn = turn
        self.at = _times(turn)
        places = list(self.at.values())
        self.done = places[-1]
        self.curves: dict[str, Curve] = {
            name: through(places, row) for name, row in _rows(turn).items()
        }

    def pose(self, t: float) -> Pose:
        return self._table_pose(self._retimed(t))

    def metres(self, times: Numbers) -> Numbers:
        """From the wall to the hips."""
        steps = np.arange(times[0], times[-1] + 2 / STEPS_A_SECOND, 1 / STEPS_A_SECOND)
        way, speed, x = np.empty(len(steps)), self.turn.push, 0.0
        for i, t in enumerate(float(step) for step in steps):
            if t <= self.at["toes off"]:
                x = self._held(t)
            else:
                speed = self._slower(speed, t)
                x += speed / STEPS_A_SECOND
            way[i] = x
        return np.asarray(np.interp(times, steps, self._without_jerks(steps, way)))

    def _table_pose(self, t: float) -> Pose:
        return {name: float(curve(t)) for name, curve in self.curves.items()}

    def _held(self, t: float) -> float:
        """Metres while something holds the body to the wall, or while it glides there."""
        at = self.at
        if t <= at["touch"]:
            return self._touching + APPROACH_SPEED * (at["touch"] - t)
        if t <= at["plant"]:
            share = (t - at["touch"]) / (at["plant"] - at["touch"])
            way = self._feet(at["plant"]) - self._touching
            free = self._touching + way * (1 - (1 - share) ** 2)
            return max(free, 0.03 - self._nearest(t, "fingers", "elbow", "knee", "toes"))
        return self._feet(t) if t <= at["load"] else self._pushed(t)

    def _nearest(self, t: float, *joints: str) -> float:
        """How far the nearest of the joints is ahead of the hips; negative is ahead."""
        found = skeleton(self._table_pose(t), (0, 0, 0), heading=TOWARD_THE_WALL).joints
        return min(float(found[name + side][0]) for name in joints for side in "LR")

    @cached_property
    def _touching(self) -> float:
        return FROM_WALL_METRES - self._nearest(self.at["touch"], "fingers")

    def _feet(self, t: float) -> float:
        """Metres of the hips with the feet on the wall."""
        found = skeleton(self._table_pose(t), (0, 0, 0), heading=TOWARD_THE_WALL).joints
        nearest = min(float(found["toesL"][0]), float(found["ankleL"][0]) - 0.06)
        return FROM_WALL_METRES - nearest

    @cached_property
    def _reaches(self) -> tuple[Numbers, Numbers]:
        """Seconds of the table's push, and how far out the hips are then."""
        times = np.linspace(self.at["load"], self.at["toes off"], 60)
        return times, np.maximum.accumulate([self._feet(float(t)) for t in times])

    def _pushed(self, t: float) -> float:
        """The speed climbs from nothing to that of the push."""
        reach = self._reaches[1]
        seconds = self.at["toes off"] - self.at["load"]
        way = float(reach[-1] - reach[0])
        power = max(0.15, self.turn.push * seconds / way - 1)
        return float(reach[0] + way * ((t - self.at["load"]) / seconds) ** (power + 1))

    def _retimed(self, t: float) -> float:
        """During the push, the second of the table whose pose keeps the feet on the wall."""
        if not self.at["load"] < t < self.at["toes off"]:
            return t
        times, reach = self._reaches
        return float(np.interp(self._pushed(t), reach, times))

    def _slower(self, speed: float, t: float) -> float:
        """The speed one step later."""
        at = self.at
        is_still = t < at["dolphin up"] or at["dolphin end"] < t < at["pull catch"]
        drag = 0.21 if is_still else 0.36
        if at["hands chest"] - 0.2 < t < at["kick"]:
            drag = 0.75
        gain = sum(_gain(t, at[first], at[last], gives) for first, last, gives in ACTIONS)
        speed = max(0.6, speed + (gain - drag * speed * speed) / STEPS_A_SECOND)
        if t > self.done:
            speed += (SWIMMING.speed - speed) * 2 / STEPS_A_SECOND
        return speed

    def _without_jerks(self, steps: Numbers, way: Numbers) -> Numbers:
        """Tucking and turning at the wall, the hips move evenly."""
        weights = np.exp(-0.5 * (np.arange(-60, 61) / 22) ** 2)
        even = np.convolve(np.pad(way, 60, "edge"), weights / weights.sum(), "valid")
        share = np.clip((steps - self.at["touch"]) / 0.12, 0, 1)
        share = share * np.clip((self.at["plant"] - steps) / 0.12, 0, 1)
        return np.asarray(way * (1 - share) + even * share)


def _gain(t: float, first: float, last: float, gives: float) -> float:
    """Metres a second, a second: a half wave that gives `gives` in all."""
    if not first <= t <= last:
        return 0.0
    return gives / (last - first) * float(np.sin(np.pi * (t - first) / (last - first))) * 1.57


def _times(turn: Turn) -> dict[str, float]:
    """Each event's seconds after the first."""
    lasts: Mapping[str, float | str] = TABLE["seconds"]
    given = {
        # "line" is reached on the way.
        "streamline_s": max(0.02, turn.streamline_s - TABLE["seconds"]["line"]),
        "pause_s": turn.pause_s,
        "hold_s": turn.hold_s,
    }
    times, t = {NAMES[0]: 0.0}, 0.0
    for name in NAMES[1:]:
        last = lasts[name]
        t += given[last] if isinstance(last, str) else last
        times[name] = t
    return times


def _rows(turn: Turn) -> dict[str, list[float]]:
    """The table's rows with the arms one by one, and what the turn has of faults. The right arm
    is nearer the lens and lets go first."""
    rows = {name: list(row) for name, row in TABLE["pose"].items()}
    arms = {"R": dict(TABLE["lead"]), "L": dict(TABLE["trail"])}
    if turn.touch == "one":
        arms["R"] |= TABLE["one_hand"]
    for side, special in arms.items():
        for place, channel in enumerate(ARM):
            rows[channel + side] = list(rows[channel])
            for name, arm in special.items():
                rows[channel + side][NAMES.index(name)] = arm[place]
    if turn.on_back:
        for name, roll in TABLE["on_back"].items():
            rows["roll"][NAMES.index(name)] = roll
    if turn.hands_away:
        _move_hands_away(rows)
    return {name: row for name, row in rows.items() if name not in ARM}


def _move_hands_away(rows: dict[str, list[float]]) -> None:
    for name, angles in TABLE["hands_away"].items():
        for channel, angle in zip(("upper", "fore", "fore_out"), angles, strict=True):
            for side in "LR":
                rows[channel + side][NAMES.index(name)] = angle


def _swimming_on(poses: list[Pose], after: Numbers, *, rate: int) -> list[Pose]:
    """The poses `after` the breakout (seconds) become strokes, heading away from the wall."""
    strokes = breaststroke.swum(SWIMMING, seconds=max(0.1, float(after[-1])) + 0.2, rate=rate).poses
    swimming = list(poses)
    for i, seconds in enumerate(after):
        if seconds > 0:
            stroke = strokes[min(round(float(seconds) * rate), len(strokes) - 1)]
            share = min(1.0, float(seconds) / BLEND_SECONDS)
            swimming[i] = _blended(poses[i], stroke, share)
    return swimming


def _blended(out: Pose, stroke: Pose, share: float) -> Pose:
    other = {name: stroke.get(name, stroke.get(name.rstrip("LR"), 0.0)) for name in out}
    other |= {"pelvis": 180 - stroke["pelvis"], "roll": 180.0}
    return {name: (1 - share) * out[name] + share * other[name] for name in out}
