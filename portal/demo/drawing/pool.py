"""One frame: the hall, the water, the ropes, the swimmer, and the surface before them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from portal.demo.drawing import deck, figure, ropes, spray
from portal.demo.drawing.body import Skeleton
from portal.demo.drawing.lens import FULL_WIDTH, Lens, Picture, View
from portal.demo.drawing.outfit import Outfit
from portal.demo.drawing.spray import Seen
from portal.demo.drawing.tiles import Plane
from portal.demo.drawing.water import water

GRAIN = 2.0
"""Standard deviation of the noise. It hides the steps of the enlarged water, and decides how
large the film's file becomes."""
GRAIN_ROOM = 64
SEED = 3
ABOVE, BELOW = 14, 16
"""Rows of the surface around the horizon."""
GLINT = np.array([226, 244, 246], np.float32)


class Pool:
    """What is the same in every frame, made once."""

    def __init__(self, lens: Lens) -> None:
        self.hall = deck.hall(lens)
        self.ropes = ropes.ropes(lens)
        grain = np.random.default_rng(SEED).normal(
            0, GRAIN, (lens.height + GRAIN_ROOM, lens.width + GRAIN_ROOM)
        )
        self.grain = grain.astype(np.float32)
        self.corners = _corners(lens)

    def frame(
        self, body: Skeleton, outfit: Outfit, seen: Sequence[Seen], lens: Lens, t: float
    ) -> NDArray[np.uint8]:
        """Height x width x 3. `t` in seconds."""
        picture = water(lens, t)
        deck.put_hall(picture, self.hall, lens)
        if lens.view == View.SIDE:
            deck.put_flags(picture, lens, t)
        below = _below_surface(lens, t)
        _part(picture, below, lens)
        self._put_ropes(picture, lens, t)
        tile = figure.figure(body, outfit, lens, t)
        if tile is not None:
            figure.put(picture, tile)
        _glint(picture, below, lens)
        spray.put(picture, seen, lens)
        return self._finished(picture, t)

    def _put_ropes(self, picture: Picture, lens: Lens, t: float) -> None:
        if lens.view == View.FRONT:
            ropes.put_ahead(picture, lens, t)
            return
        for number, rope in enumerate(self.ropes):
            ropes.put_beside(picture, rope, lens, 2.0 * float(np.sin(t * 1.5 + number * 2)))

    def _finished(self, picture: Picture, t: float) -> NDArray[np.uint8]:
        """Darker corners, and grain that differs from frame to frame."""
        picture *= self.corners
        height, width = picture.shape[:2]
        top, left = np.random.default_rng(int(t * 1000)).integers(0, GRAIN_ROOM, 2)
        picture += self.grain[top : top + height, left : left + width, None]
        return np.clip(picture, 0, 255, out=picture).astype(np.uint8)


def _corners(lens: Lens) -> Plane:
    rows, columns = np.mgrid[0 : lens.height, 0 : lens.width].astype(np.float32)
    across = (columns - lens.width / 2) / lens.width
    down = (rows - lens.height * 0.42) / lens.height
    dark: Plane = (1 - 0.30 * (across**2 + down**2))[..., None]
    return dark


def _below_surface(lens: Lens, t: float) -> Plane:
    """Pixels that each pixel of the band around the horizon lies below the waves."""
    place = np.arange(lens.width) / lens.width * FULL_WIDTH + lens.along * 90
    waves = (
        3.6 * np.sin(place * 0.011 + t * 1.9)
        + 2.0 * np.sin(place * 0.027 - t * 2.7)
        + 1.1 * np.sin(place * 0.061 + t * 4.3)
        + 0.7 * np.sin(place * 0.13 - t * 6.1)
        + 2.2 * np.sin(t * 0.9)
    )
    rows = np.arange(lens.horizon - ABOVE, lens.horizon + BELOW, dtype=np.float32)[:, None]
    below: Plane = rows - (lens.horizon + waves[None].astype(np.float32))
    return below


def _band(picture: Picture, lens: Lens) -> Picture:
    return picture[lens.horizon - ABOVE : lens.horizon + BELOW]


def _part(picture: Picture, below: Plane, lens: Lens) -> None:
    """Air above the waves, water below them."""
    top, bottom = lens.horizon - ABOVE, lens.horizon + BELOW
    air, under = picture[top - 3 : top - 2].copy(), picture[bottom + 2 : bottom + 3].copy()
    share = np.clip(below + 0.5, 0, 1)[..., None]
    _band(picture, lens)[:] = air * (1 - share) + under * share


def _glint(picture: Picture, below: Plane, lens: Lens) -> None:
    """A bright line where the water meets the lens, dark at its foot."""
    band = _band(picture, lens)
    band *= 1 - np.exp(-(((below - 4.2) / 2.2) ** 2))[..., None] * 0.30
    band += (GLINT - band) * (np.exp(-((below / 1.6) ** 2))[..., None] * 0.62)
