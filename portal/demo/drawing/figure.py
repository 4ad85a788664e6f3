"""The swimmer as a picture: the relief in colours, in the light of the pool."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portal.demo.drawing.body import Skeleton, Vector
from portal.demo.drawing.flesh import Solid, Stuff, solids
from portal.demo.drawing.lens import Lens, Picture, View
from portal.demo.drawing.outfit import Outfit
from portal.demo.drawing.relief import FINER, Box, Relief, relief
from portal.demo.drawing.tiles import FOG, Plane, caustics

RIM = np.array([10, 34, 46], np.float32)
UNDER_WATER = np.array([0.88, 0.99, 1.0], np.float32)
"""Red goes first."""
SKIN_GLOSS, SUIT_GLOSS = 20, 46


@dataclass(frozen=True, eq=False)
class Tile:
    """The figure cut out. Colours are multiplied by the cover already."""

    box: Box
    pixels: Plane
    """Height x width x 4: red, green, blue 0 to 255, cover 0 to 1."""

    def covers(self, column: float, row: float) -> float:
        """Of the pixel there, 0 to 1; 0 outside the tile."""
        x, y = round(column) - self.box.left, round(row) - self.box.top
        height, width = self.pixels.shape[:2]
        return float(self.pixels[y, x, 3]) if 0 <= x < width and 0 <= y < height else 0.0


def figure(body: Skeleton, outfit: Outfit, lens: Lens, t: float) -> Tile | None:
    """None: out of sight. `t` in seconds, for the light."""
    parts = solids(body, dense=1 if lens.view == View.SIDE else 2)
    found = relief(parts, lens)
    if found is None:
        return None
    colours = _lit(found, _painted(found, parts, body, outfit, lens), parts)
    colours = _under_water(found, colours, lens, t)
    pixels = np.zeros((found.box.shape[0] * found.box.shape[1], 4), np.float32)
    pixels[found.place, :3], pixels[found.place, 3] = colours, 1
    fine = pixels.reshape(*found.box.shape, 4)
    quarters = np.stack([fine[i::FINER, j::FINER] for i in range(FINER) for j in range(FINER)])
    return Tile(found.box, quarters.mean(0, dtype=np.float32))


def put(picture: Picture, tile: Tile) -> None:
    height, width = picture.shape[:2]
    box = tile.box
    left, top = max(box.left, 0), max(box.top, 0)
    right, bottom = min(box.right, width), min(box.bottom, height)
    if right <= left or bottom <= top:
        return
    pixels = tile.pixels[top - box.top : bottom - box.top, left - box.left : right - box.left]
    below = picture[top:bottom, left:right]
    below *= 1 - pixels[..., 3:]
    below += pixels[..., :3]


def _painted(
    found: Relief, parts: list[Solid], body: Skeleton, outfit: Outfit, lens: Lens
) -> Plane:
    """Colours in white light, pixels x 3: the suit's back, its belly, and the seam between."""
    stuff = np.array([part.stuff for part in parts])[found.solid]
    colours: Plane = outfit.paint()[stuff]
    back = _seen_direction(body.chest[1], lens) + _seen_direction(body.pelvis[1], lens)
    toward_back = sum(found.facing[i] * np.float32(back[i] / 2) for i in range(3))
    is_suit = stuff == Stuff.SUIT
    belly = np.clip((-0.12 - toward_back) / 0.06 + 0.5, 0, 1) * is_suit
    seam = np.clip((0.09 - np.abs(toward_back + 0.02)) / 0.05 + 0.5, 0, 1) * is_suit
    for colour, share in ((outfit.belly, belly), (outfit.seam, seam)):
        colours = colours + (np.array(colour, np.float32) - colours) * share[:, None]
    return colours


def _seen_direction(direction: Vector, lens: Lens) -> Vector:
    """Right, up, toward the lens."""
    seen: Vector = lens.turned(direction[None])[0] * np.array([1, 1, -1])
    return seen


def _lit(found: Relief, colours: Plane, parts: list[Solid]) -> Plane:
    """Light from above and from the lens's side, a shine, and a blue rim."""
    right, up, toward = found.facing
    light = np.clip(0.40 + 0.56 * (up * 0.74 + toward * 0.56 + right * 0.12), 0.10, 1.3)
    shine = np.clip(up * 0.72 + toward * 0.66, 0, 1) ** 22
    is_skin = np.array([part.stuff == Stuff.SKIN for part in parts])
    gloss = np.where(is_skin, SKIN_GLOSS, SUIT_GLOSS)[found.solid]
    rim = (1 - np.clip(toward, 0, 1)) ** 3
    lit: Plane = colours * light[:, None]
    lit += (shine * gloss)[:, None] + RIM * (rim * 0.7)[:, None]
    return lit


def _under_water(found: Relief, colours: Plane, lens: Lens, t: float) -> Plane:
    """What is below the surface gets the net of light, loses red, and fades into the fog with
    depth and distance."""
    scale = found.scale / FINER
    depth = (found.rows - lens.horizon) / scale
    below = np.clip(depth / 0.05 + 0.5, 0, 1)
    if not below.any():
        return colours
    along = (found.columns - lens.centre) / scale + lens.along
    away = found.depth / (scale * FINER)
    net = caustics(along * 2.1, away * 2.0 + depth * 0.6, t * 1.3)
    up = np.clip(found.facing[1] + 0.25, 0, 1)
    colours = colours * (1 + below * up * net * 0.75)[:, None]
    colours = colours * (1 - below[:, None] * (1 - UNDER_WATER))
    nearer = (found.depth - found.depth.mean()) / found.scale
    fog = 0.11 + np.clip(depth, 0, 2) * 0.10 - nearer * 0.16
    fog = (below * np.clip(fog, 0.03, 0.6))[:, None]
    veiled: Plane = colours * (1 - fog) + FOG * 1.05 * fog
    return veiled
