"""What a coach could measure in a frame, from the joints in space."""

from __future__ import annotations

import numpy as np

from portal.demo.drawing.body import SIDES, Skeleton, Vector, angle

PIXELS = (
    *("crown", "skull", "neck", "hip"),
    *(
        f"{name}{side}"
        for side in SIDES
        for name in ("shoulder", "elbow", "wrist", "fingers", "hip", "knee", "ankle", "toes")
    ),
)
"""The joints whose pixels are told."""


def measures(body: Skeleton) -> dict[str, float]:
    """Degrees, or metres where the name ends in `_m`. Elbow, knee and heel are the left ones."""
    j = body.joints
    shoulders, ankles, wrists = (_middle(body, name) for name in ("shoulder", "ankle", "wrist"))
    return {
        "elbow": round(angle(j["shoulderL"], j["elbowL"], j["wristL"]), 2),
        "knee": round(angle(j["hipL"], j["kneeL"], j["ankleL"]), 2),
        "hip": round(angle(shoulders, j["hip"], j["kneeL"]), 2),
        "trunk": round(_slope(j["hip"], shoulders), 2),
        "line": round(_slope(ankles, shoulders), 2),
        "roll": round(_roll(body), 1),
        "heel_hip_m": _metres(j["heelL"], j["hipL"]),
        "knee_gap_m": _metres(j["kneeL"], j["kneeR"]),
        "ankle_gap_m": _metres(j["ankleL"], j["ankleR"]),
        "wrist_depth_m": round(-float(wrists[1]), 3),
        "crown_height_m": round(float(j["crown"][1]), 3),
        "hip_from_wall_m": round(float(j["hip"][0]), 3),
    }


def _middle(body: Skeleton, name: str) -> Vector:
    middle: Vector = (body.joints[f"{name}L"] + body.joints[f"{name}R"]) / 2
    return middle


def _slope(feet: Vector, head: Vector) -> float:
    """To the level; + when the head end is higher."""
    rise = head - feet
    return float(np.degrees(np.arctan2(rise[1], abs(rise[0]))))


def _roll(body: Skeleton) -> float:
    """0 on the breast, 90 on the side, 180 on the back."""
    back, left = float(body.chest[1][1]), float(body.chest[2][1])
    cosine = back / max(1e-6, float(np.hypot(back, left)))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def _metres(one: Vector, other: Vector) -> float:
    return round(float(np.linalg.norm(one - other)), 3)
