"""The swimmer's joints from the angles of a pose.

The pool: x along it in metres from the wall, y up from the surface, z away from the lens.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

MOTION: Mapping[str, Any] = tomllib.loads(
    (Path(__file__).parent / "motion.toml").read_text(encoding="utf-8")
)
STATURE: float = MOTION["body"]["stature_m"]
METRES = {name: share * STATURE for name, share in MOTION["body"].items() if name != "stature_m"}
SIDES = {"L": 1, "R": -1}
"""The suffix of a joint's or a channel's name, and on which side of the midline it lies."""

Vector = NDArray[np.float64]
"""Three numbers."""
Axes = NDArray[np.float64]
"""Three rows: ahead along the body, toward the back, toward its left."""
Pose = dict[str, float]
"""Channel to degrees (`depth` in metres). L or R behind a channel's name: of that side only."""


@dataclass(frozen=True)
class Skeleton:
    """Where everything is, in metres."""

    joints: dict[str, Vector]
    pelvis: Axes
    chest: Axes
    head: Axes
    calves: dict[str, Vector]
    """Which way each calf faces."""


def skeleton(pose: Pose, hips: ArrayLike, *, heading: int = 1) -> Skeleton:
    """`hips`: the point between the hip joints; `heading`: 1 away from the wall, -1 toward it."""
    roll = pose.get("roll", 0.0)
    pelvis = lying(pose["pelvis"], roll * pose.get("hip_roll", 1.0), heading=heading)
    chest = arched(lying(pose["pelvis"], roll, heading=heading), pose.get("chest", 0.0))
    head = arched(rolled(chest, pose.get("head_roll", 0.0)), pose.get("head", 0.0))
    joints = {"hip": np.asarray(hips, float)}
    joints["waist"] = joints["hip"] + pelvis[0] * METRES["trunk"] * 0.40
    joints["neck"] = joints["waist"] + chest[0] * METRES["trunk"] * 0.60
    joints["crown"] = joints["neck"] + METRES["neck_head"] * (0.30 * chest[0] + 0.70 * head[0])
    joints["skull"] = (
        joints["neck"]
        + METRES["neck_head"] * (0.34 * chest[0] + 0.25 * head[0])
        + 0.012 * STATURE * head[1]
    )
    calves = {}
    for side in SIDES:
        joints |= _arm(_of_side(pose, side), joints["neck"], chest, side)
        leg, calves[side] = _leg(_of_side(pose, side), joints["hip"], pelvis, side)
        joints |= leg
    return Skeleton(joints, pelvis, chest, head, calves)


def _of_side(pose: Pose, side: str) -> Pose:
    """The pose as one side has it: its own channels under their bare names."""
    own = {name[:-1]: value for name, value in pose.items() if name.endswith(side)}
    return {**pose, **own}


def lying(pitch: float, roll: float, *, heading: int) -> Axes:
    """Axes of a body in the water: `pitch` lifts the head end, `roll` turns it to its left."""
    cos, sin = _cos_sin(pitch)
    ahead, back = np.array([heading * cos, sin, 0.0]), np.array([-heading * sin, cos, 0.0])
    return rolled(np.array([ahead, back, np.cross(back, ahead)]), roll)


def rolled(axes: Axes, degrees: float) -> Axes:
    cos, sin = _cos_sin(degrees)
    ahead, back, left = axes
    return np.array([ahead, cos * back + sin * left, cos * left - sin * back])


def arched(axes: Axes, degrees: float) -> Axes:
    """Turned about the body's own left-right axis: + brings the head end toward the back."""
    cos, sin = _cos_sin(degrees)
    ahead, back, left = axes
    return np.array([cos * ahead + sin * back, cos * back - sin * ahead, left])


def _arm(pose: Pose, neck: Vector, chest: Axes, side: str) -> dict[str, Vector]:
    outward = SIDES[side] * chest[2]
    # An arm overhead takes the shoulder blade along, ahead and inward; without that a stretched
    # swimmer looks hunched.
    overhead = max(0.0, _cos_sin(pose["upper"])[0])
    shoulder = (
        neck
        + outward * METRES["shoulder_half"] * (1 - 0.22 * overhead)
        + chest[0] * (0.035 * overhead - 0.022) * STATURE
        - chest[1] * 0.012 * STATURE
    )

    def along(pitch: float, out: float) -> Vector:
        (cos, sin), (cos_out, sin_out) = _cos_sin(pitch), _cos_sin(out)
        pointed: Vector = cos_out * (cos * chest[0] - sin * chest[1]) + sin_out * outward
        return pointed

    hand_out = pose["fore_out"] * (0.7 if pose["fore_out"] < 0 else 1)
    elbow = shoulder + along(pose["upper"], pose["upper_out"]) * METRES["upper_arm"]
    wrist = elbow + along(pose["fore"], pose["fore_out"]) * METRES["forearm"]
    fingers = wrist + along(pose["fore"] + pose["wrist"], hand_out) * METRES["hand"]
    return {
        f"shoulder{side}": shoulder,
        f"elbow{side}": elbow,
        f"wrist{side}": wrist,
        f"fingers{side}": fingers,
    }


def _leg(pose: Pose, hips: Vector, pelvis: Axes, side: str) -> tuple[dict[str, Vector], Vector]:
    """The joints, and which way the calf faces."""
    outward = SIDES[side] * pelvis[2]
    (cos, sin), (cos_out, sin_out) = _cos_sin(pose["hip"]), _cos_sin(pose["thigh_out"])
    level = -cos * pelvis[0] - sin * pelvis[1]
    thigh = cos_out * level + sin_out * outward
    thigh_outward = cos_out * outward - sin_out * level
    cos, sin = _cos_sin(pose["shank_out"])
    behind = cos * _behind(pose["hip"], pelvis) + sin * thigh_outward
    (cos_knee, sin_knee), (cos_foot, sin_foot) = _cos_sin(pose["knee"]), _cos_sin(pose["ankle"])
    shank = cos_knee * thigh + sin_knee * behind
    shin = sin_knee * thigh - cos_knee * behind
    lateral = unit(np.cross(shank, shin))
    lateral = lateral if lateral @ outward > 0 else -lateral
    foot = sin_foot * shank + cos_foot * (cos * shin + sin * lateral)
    joint = hips + outward * METRES["hip_half"]
    knee = joint + thigh * METRES["thigh"]
    ankle = knee + shank * METRES["shank"]
    heel = ankle - 0.028 * STATURE * unit(sin_foot * shin - cos_foot * shank)
    return {
        f"hip{side}": joint,
        f"knee{side}": knee,
        f"ankle{side}": ankle,
        f"heel{side}": heel,
        f"toes{side}": ankle + foot * METRES["foot"],
    }, -shin


def _behind(hip: float, pelvis: Axes) -> Vector:
    """The back of a thigh that is flexed by `hip` degrees."""
    cos, sin = _cos_sin(hip)
    back: Vector = cos * pelvis[1] - sin * pelvis[0]
    return back


def angle(one: Vector, middle: Vector, other: Vector) -> float:
    """Degrees between two segments that meet in `middle`."""
    cosine = np.clip(unit(one - middle) @ unit(other - middle), -1, 1)
    return float(np.degrees(np.arccos(cosine)))


def unit(vector: Vector) -> Vector:
    length_one: Vector = vector / (np.linalg.norm(vector) + 1e-9)
    return length_one


def _cos_sin(degrees: float) -> tuple[float, float]:
    return float(np.cos(np.radians(degrees))), float(np.sin(np.radians(degrees)))
