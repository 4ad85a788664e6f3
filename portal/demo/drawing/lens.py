"""The lens at the waterline, half in the water, moving on a rail beside the lane.

It never turns, so every pixel of the pool has its place in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from portal.demo.drawing.body import Axes, Vector
from portal.demo.drawing.curves import Numbers, eased, steadied
from portal.demo.drawing.moves import LANE_METRES, Move

Picture = NDArray[np.float32]
"""Height x width x 3, 0 to 255."""

FULL_WIDTH = 1280
PIXELS_A_METRE = 250
"""In the middle of the lane, at full width."""
WATERLINE = 0.23
"""Of the height."""
AHEAD_METRES = 0.15
"""The lens stands so far ahead of the hips, and in a front view so far from them:"""
FRONT_METRES = 3.6
SWING_METRES = 4.2
"""So far off the swimmer is out of the picture, hands and feet included."""


class View(StrEnum):
    SIDE = "side"
    """Across the lane."""
    FRONT = "front"
    """Back along the lane at the swimmer who comes."""


@dataclass(frozen=True, eq=False)
class Lens:
    width: int
    height: int
    """Of the picture, pixels."""
    view: View
    place: Vector = field(default_factory=lambda: np.zeros(3))

    @property
    def focal(self) -> float:
        """Pixels of one metre at one metre."""
        return PIXELS_A_METRE * LANE_METRES * self.width / FULL_WIDTH

    @property
    def centre(self) -> float:
        return self.width / 2

    @property
    def horizon(self) -> int:
        """The row of the still surface."""
        return round(self.height * WATERLINE)

    @property
    def along(self) -> float:
        """Metres from the wall."""
        return float(self.place[0])

    def moved(self, place: Vector) -> Self:
        return replace(self, place=place)

    def seen(self, points: ArrayLike) -> Numbers:
        """To the right, up, and away from the lens, metres."""
        return self.turned(np.asarray(points, float) - self.place)

    def turned(self, directions: Axes) -> Axes:
        if self.view == View.SIDE:
            return directions
        return np.stack([-directions[..., 2], directions[..., 1], -directions[..., 0]], -1)

    def pixels(self, points: ArrayLike) -> Numbers:
        """Columns and rows, counted from the top left; may lie outside the picture."""
        right, up, away = np.moveaxis(self.seen(points), -1, 0)
        return np.stack(
            [self.centre + self.focal * right / away, self.horizon - self.focal * up / away], -1
        )


@dataclass(frozen=True, kw_only=True)
class Rail:
    """How the lens goes along with a swimmer."""

    nearest: float | None = None
    """Metres: it comes no nearer to the wall."""
    swing_in: float = 0.0
    """Seconds from empty water to the swimmer; the lens comes from beyond, away from the wall."""
    swing_out: float = 0.0
    """Seconds from the swimmer to empty water, back toward the wall."""


def places(move: Move, view: View, rail: Rail) -> Numbers:
    """Where the lens is: one row a frame, metres."""
    along = move.hips[:, 0]
    if view == View.FRONT:
        ahead = steadied(along, sigma=0.4 * move.rate) + FRONT_METRES
        return np.column_stack([ahead, np.zeros(len(along)), np.full(len(along), LANE_METRES)])
    beside = steadied(along, sigma=0.45 * move.rate) + AHEAD_METRES + _swing(move, rail)
    if rail.nearest is not None:
        beside = np.logaddexp((beside - rail.nearest) * 4, 0) / 4 + rail.nearest
    return np.column_stack([beside, np.zeros((len(along), 2))])


def _swing(move: Move, rail: Rail) -> Numbers:
    """Metres off the swimmer."""
    last = len(move) - 1
    return SWING_METRES * np.array(
        [
            _left(frame, rail.swing_in * move.rate)
            - _left(last - frame, rail.swing_out * move.rate)
            for frame in range(len(move))
        ]
    )


def _left(frames: int, of: float) -> float:
    """The share of a swing still to come after `frames` of it."""
    return 1 - eased(frames / of) if of else 0.0
