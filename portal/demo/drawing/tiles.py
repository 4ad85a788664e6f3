"""Tiles, light and fog: sums for pictures of the pool, 32-bit throughout.

One numpy double would widen every array it meets, so scalars here are Python's.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Plane = NDArray[np.floating[Any]]
"""One number a pixel, or rows or columns that spread over the picture."""
Colour = tuple[float, float, float]

TILE_METRES = 0.25
FLOOR_METRES = 1.8
"""Depth of the pool."""
FAR_WALL_METRES = 11.5
FOG = np.array([22, 100, 142], np.float32)
WALL = np.array([150, 212, 218], np.float32)
FLOOR = np.array([116, 196, 208], np.float32)
MARK = np.array([16, 30, 52], np.float32)


def lines(place: Plane, half: float, pixel: Plane, pitch: float = TILE_METRES) -> Plane:
    """Grout: how much of each pixel lies on a line of the half breadth `half`, one every `pitch`
    metres. `pixel`: metres that a pixel covers; thinner lines fade instead of flickering."""
    off = np.abs((place + pitch / 2) % pitch - pitch / 2)
    cover: Plane = np.clip((half + pixel * 0.6 - off) / (pixel * 1.2), 0, 1)
    cover *= np.minimum(1, 2 * half / pixel + 0.15)
    return cover


def within(place: Plane, half: float, pixel: Plane) -> Plane:
    """How much of each pixel lies nearer than `half`."""
    cover: Plane = np.clip((half - place) / pixel + 0.5, 0, 1)
    return cover


def cross(sideways: Plane, depth: Plane, wide: Plane, high: Plane) -> Plane:
    """The target on an end wall: a line down the lane's middle and a bar 0.3 m deep. `wide` and
    `high`: metres that a pixel covers."""
    side = np.abs(sideways)
    line = within(side, 0.125, wide) * within(depth, 1.6, high)
    bar = within(side, 0.25, wide) * within(np.abs(depth - 0.30), 0.125, high)
    mark: Plane = np.maximum(line, bar)
    return mark


def painted(base: Plane, grout: Plane, mark: Plane) -> Plane:
    """Tiles of one colour with grout and dark marks, as a picture."""
    tiles = base * (1 - 0.16 * grout)[..., None]
    tiled: Plane = tiles * (1 - mark[..., None]) + MARK * mark[..., None]
    return tiled


def fogged(picture: Plane, metres: Plane, *, thickness: float, fog: Plane = FOG) -> Plane:
    """What is left of a picture behind so much water."""
    share = 1 - np.exp(-(metres - 1.0) * thickness)
    veiled: Plane = picture * (1 - share) + fog * share
    return veiled


def caustics(x: Plane, z: Plane, t: float) -> Plane:
    """Net of light that the waves throw, 0 to 1; x and z in metres, `t` in seconds."""
    one = np.sin(2.3 * x + 1.3 * np.sin(1.7 * z + t * 0.9) + t * 1.1)
    two = np.sin(2.0 * z + 1.5 * np.sin(1.9 * x - t * 0.8) - t * 0.7)
    three = np.sin(1.6 * (x + z) + 1.2 * np.sin(1.5 * (x - z) + t) + t * 0.6)
    bright: Plane = 1 - np.abs(one + two + three) / 3
    return bright * bright * bright


def resized(plane: Plane, width: int, height: int) -> Plane:
    """A plane at another size, between its numbers in straight lines."""
    image = Image.fromarray(plane.astype(np.float32))
    return np.asarray(image.resize((width, height), Image.Resampling.BILINEAR))
