"""A move: one pose for every frame of a film, and what happens when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from portal.demo.drawing.body import Pose, Skeleton, skeleton
from portal.demo.drawing.curves import Numbers

LANE_METRES = 5.5
"""From the lens to the middle of the swimmer's lane."""


@dataclass(frozen=True)
class Move:
    rate: int
    """Frames a second."""
    poses: list[Pose]
    hips: Numbers
    """One row a frame: x, y, z in metres."""
    heading: int
    """1: away from the wall; -1: toward it."""
    events: list[tuple[str, float]]
    """Name and seconds, in order."""
    breathes_out: list[bool]
    shows: dict[str, Any]
    """The parameters it was made from."""

    def __len__(self) -> int:
        return len(self.poses)

    def body(self, frame: int) -> Skeleton:
        return skeleton(self.poses[frame], self.hips[frame], heading=self.heading)
