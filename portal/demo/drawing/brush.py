"""Round spots: drops, bubbles, and the floats of a rope that comes toward the lens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portal.demo.drawing.lens import Picture
from portal.demo.drawing.tiles import Colour, Plane


@dataclass(frozen=True)
class Spot:
    column: float
    row: float
    radius: float
    """Pixels."""
    colour: Colour
    opacity: float
    softness: float = 1.5
    """Pixels of its edge."""
    is_ring: bool = False
    """A bubble, clear in the middle."""
    is_shaded: bool = False
    """Lit from above."""


def dab(picture: Picture, spot: Spot) -> None:
    """Paint the spot, or what of it lies in the picture."""
    height, width = picture.shape[:2]
    left, right = max(int(spot.column - spot.radius - 2), 0), int(spot.column + spot.radius + 3)
    top, bottom = max(int(spot.row - spot.radius - 2), 0), int(spot.row + spot.radius + 3)
    right, bottom = min(right, width), min(bottom, height)
    if right <= left or bottom <= top:
        return
    rows, columns = np.ogrid[top:bottom, left:right]
    off = np.sqrt((columns - spot.column) ** 2 + (rows - spot.row) ** 2).astype(np.float32)
    cover = np.clip((spot.radius - off) / spot.softness + 0.5, 0, 1) * spot.opacity
    if spot.is_ring:
        cover = cover * np.clip(0.25 + (off / max(spot.radius, 0.5)) ** 2 * 0.75, 0, 1)
    colour: Plane = np.array(spot.colour, np.float32)
    if spot.is_shaded:
        down = np.clip((rows - spot.row) / spot.radius + 0 * columns, -1, 1)
        colour = colour * (1 - 0.45 * down)[..., None].astype(np.float32)
    below = picture[top:bottom, left:right]
    below += (colour - below) * cover[..., None]
