"""A parameter does to the swimmer what the truth says it does."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

from portal.demo.drawing import breaststroke
from portal.demo.drawing.breaststroke import Breaststroke
from portal.demo.drawing.freestyle import Freestyle
from portal.demo.drawing.measuring import measures
from portal.demo.drawing.moves import Move
from portal.demo.drawing.scenes import How, Scene
from portal.demo.drawing.turning import Turn

RATE = 120
CYCLE = 60 / 34
ACTIVE = CYCLE - 0.55


@dataclass
class Measured:
    move: Move

    def column(self, name: str, *, first: float = 0.0, last: float = 60.0) -> list[float]:
        """Of the frames from `first` to `last` seconds."""
        frames = range(len(self.move))
        return [self.at(i, name) for i in frames if first <= i / self.move.rate <= last]

    def at(self, frame: int, name: str) -> float:
        return measures(self.move.body(frame))[name]

    def seconds(self, event: str, turn: int = 1) -> float:
        return [at for name, at in self.move.events if name == event][turn - 1]

    def event(self, event: str, turn: int = 1) -> int:
        return round(self.seconds(event, turn) * self.move.rate)

    def nearest(self, frame: int, *joints: str) -> float:
        """Metres from the wall of the nearest of these joints."""
        found = self.move.body(frame).joints
        return min(float(found[joint][0]) for joint in joints)


def measured(how: How, *, seconds: float = CYCLE, rate: int = RATE, lead: float = 0.0) -> Measured:
    return Measured(Scene(name="here", how=how, seconds=seconds, lead=lead).move(rate))


def glide(swum: Measured, name: str) -> float:
    return swum.at(round((ACTIVE + 0.2) * RATE), name)


Reading = Callable[[Measured], float]
READINGS: dict[str, Reading] = {
    "heels nearest": lambda m: min(m.column("heel_hip_m")),
    "knee": lambda m: min(m.column("knee")),
    "crown highest, at": lambda m: float(np.argmax(m.column("crown_height_m"))) / RATE / ACTIVE,
    "hands in recovery": lambda m: max(
        m.column("wrist_depth_m", first=0.44 * ACTIVE, last=0.70 * ACTIVE)
    ),
    "crown in the glide": lambda m: glide(m, "crown_height_m"),
    "line in the glide": lambda m: glide(m, "line"),
    "knee gap": lambda m: max(m.column("knee_gap_m")),
}
BREAST = [
    (Breaststroke(heel_height=1.0), "heels nearest", 0.391, 0.004),
    (Breaststroke(heel_height=0.5), "heels nearest", 0.554, 0.004),
    (Breaststroke(heel_height=0.0), "heels nearest", 0.690, 0.004),
    (Breaststroke(heel_height=1.0), "knee", 52, 0.6),
    (Breaststroke(heel_height=0.5), "knee", 77, 0.6),
    (Breaststroke(heel_height=0.0), "knee", 102, 0.6),
    (Breaststroke(breath="early"), "crown highest, at", 0.43, 0.015),
    (Breaststroke(breath="late"), "crown highest, at", 0.56, 0.015),
    (Breaststroke(recovery_drop=0), "hands in recovery", 0.224, 0.004),
    (Breaststroke(recovery_drop=12), "hands in recovery", 0.280, 0.004),
    (Breaststroke(recovery_drop=24), "hands in recovery", 0.343, 0.004),
    (Breaststroke(head_up=0), "crown in the glide", -0.160, 0.004),
    (Breaststroke(head_up=30), "crown in the glide", -0.055, 0.004),
    (Breaststroke(line=0), "line in the glide", -0.9, 0.2),
    (Breaststroke(line=7), "line in the glide", 6.1, 0.2),
    (Breaststroke(line=14), "line in the glide", 13.1, 0.2),
    (Breaststroke(knee_width=1.0), "knee gap", 0.477, 0.004),
    (Breaststroke(knee_width=1.5), "knee gap", 0.611, 0.004),
    (Breaststroke(knee_width=2.1), "knee gap", 0.753, 0.004),
]


@pytest.mark.parametrize(("how", "reading", "value", "off"), BREAST)
def test_breaststroke(how: Breaststroke, reading: str, value: float, off: float) -> None:
    assert READINGS[reading](measured(how)) == pytest.approx(value, abs=off)


def peaks(values: Iterable[float]) -> list[int]:
    row = list(values)
    middle = float(np.median(row))
    return [
        i
        for i in range(2, len(row) - 2)
        if row[i] > middle and row[i - 1] < row[i] >= row[i + 1] and row[i] > max(row) - 0.02
    ]


@pytest.mark.parametrize("rate", [34, 42])
def test_the_stroke_rate_is_the_one_asked_for(rate: int) -> None:
    swum = measured(Breaststroke(rate=rate, glide_s=0.3), seconds=6, rate=60)
    found = peaks(swum.column("crown_height_m"))
    assert len(found) >= 3
    assert np.diff(found) == pytest.approx(3600 / rate, abs=1.01)


def test_breaststroke_events_stand_where_they_happen() -> None:
    swum = measured(Breaststroke(), seconds=2 * CYCLE)
    heels = swum.column("heel_hip_m")
    for turn in (1, 2):
        first = round((turn - 1) * CYCLE * RATE)
        nearest = first + int(np.argmin(heels[first : first + round(CYCLE * RATE)]))
        assert abs(swum.event("arms long", turn) - nearest) <= 0.05 * RATE
        assert swum.at(swum.event("glide", turn), "knee") > 178
    names = [name for name, _at in swum.move.events]
    assert names.count("whip") == 2


def test_a_lead_shifts_the_events() -> None:
    begun = measured(Breaststroke(), seconds=3, lead=0.4)
    assert begun.seconds("whip") == pytest.approx(0.74 * ACTIVE - 0.4)
    assert begun.at(begun.event("whip"), "knee") == pytest.approx(
        measured(Breaststroke()).at(round(0.74 * ACTIVE * RATE), "knee"), abs=1.5
    )


def test_the_speed_is_the_one_asked_for() -> None:
    way = measured(Breaststroke(speed=1.3), seconds=2 * CYCLE).column("hip_from_wall_m")
    assert (way[-1] - way[0]) / (2 * CYCLE - 1 / RATE) == pytest.approx(1.3, abs=0.01)


def test_a_glide_that_leaves_no_time_is_refused() -> None:
    with pytest.raises(
        breaststroke.NoTime, match=r"glide of 1.4 s leaves 0.1. s .* Make it shorter"
    ):
        measured(Breaststroke(rate=40, glide_s=1.4))


GOOD = Turn(streamline_s=1.6, pause_s=0.7, hold_s=0.4)
WALL = ("toesL", "toesR", "ankleL", "ankleR")


def test_a_turn_lasts_as_long_as_asked() -> None:
    turned = measured(GOOD, seconds=9, lead=0.5)
    at = turned.seconds
    assert at("touch") == pytest.approx(0.5 + 0.9)
    assert at("line end") - at("toes off") == pytest.approx(1.6)
    assert at("pause") - at("dolphin end") == pytest.approx(0.7)
    assert at("hold") - at("pull end") == pytest.approx(0.4)
    assert at("toes off") - at("plant") == pytest.approx(0.46)


def test_hands_and_feet_are_on_the_wall_when_the_events_say_so() -> None:
    turned = measured(GOOD, seconds=4)
    assert turned.nearest(turned.event("touch"), "fingersL") == pytest.approx(0.02, abs=0.02)
    assert turned.nearest(turned.event("touch"), "fingersR") == pytest.approx(0.02, abs=0.02)
    for frame in range(turned.event("plant") + 1, turned.event("toes off")):
        assert turned.nearest(frame, *WALL) < 0.12, frame
    assert turned.nearest(turned.event("toes off") + RATE // 5, *WALL) > 0.2
    joints = turned.move.body(0).joints
    assert min(turned.nearest(frame, *joints) for frame in range(len(turned.move))) > -0.02


def test_what_a_turn_can_have_of_faults() -> None:
    good, back = measured(GOOD, seconds=8), measured(Turn(on_back=True), seconds=4)
    assert good.at(good.event("toes off"), "roll") == pytest.approx(60, abs=1)
    assert back.at(back.event("toes off"), "roll") == pytest.approx(130, abs=1)
    one = measured(Turn(touch="one"), seconds=2)
    touching = one.move.body(one.event("touch")).joints
    assert float(touching["fingersR"][0] - touching["fingersL"][0]) > 0.4
    away = measured(Turn(hands_away=True, streamline_s=1.6, pause_s=0.7, hold_s=0.4), seconds=8)
    for turned, depth in ((good, 0.558), (away, 0.916)):
        assert turned.at(turned.event("hands chest"), "wrist_depth_m") == pytest.approx(
            depth, abs=0.01
        )


def test_the_body_never_jumps() -> None:
    """No joint is faster than 7 m/s, which only the knees come near, in the tuck."""
    turned = measured(GOOD, seconds=9, rate=60)
    bodies = [turned.move.body(frame).joints for frame in range(len(turned.move))]
    for name in ("hip", "crown", "kneeL", "kneeR"):
        way = np.array([body[name] for body in bodies])
        assert float(np.linalg.norm(np.diff(way, axis=0), axis=1).max()) * 60 < 7, name


@pytest.mark.parametrize(("catch", "elbow"), [("high elbow", 124), ("dropped", 157)])
def test_the_elbow_at_the_catch(catch: str, elbow: float) -> None:
    swum = measured(Freestyle(catch=catch), seconds=4, rate=30)
    assert swum.at(swum.event("left catch", 2) + 1, "elbow") == pytest.approx(elbow, abs=1)


def test_freestyle_events_are_half_a_cycle_apart() -> None:
    swum = measured(Freestyle(rate=40), seconds=4)
    assert swum.seconds("left entry", 2) == pytest.approx(1.5)
    assert swum.seconds("right entry") == pytest.approx(0.75)
    assert [at for _name, at in swum.move.events] == sorted(at for _name, at in swum.move.events)


def test_the_head_turns_to_breathe_as_often_as_asked() -> None:
    def turned(breathe_every: int) -> int:
        poses = measured(Freestyle(breathe_every=breathe_every), seconds=6, rate=30).move.poses
        is_out = [pose["head_roll"] + pose["roll"] < -40 for pose in poses]
        return sum(later and not before for before, later in pairwise(is_out))

    assert (turned(2), turned(4), turned(0)) == (4, 2, 0)
