"""The lane ropes: red for the first 5 m from the wall, then blue and white."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from portal.demo.drawing.brush import Spot, dab
from portal.demo.drawing.lens import Lens, Picture
from portal.demo.drawing.moves import LANE_METRES
from portal.demo.drawing.tiles import FOG, Colour, Plane

RED, WHITE, BLUE = (206, 44, 46), (238, 240, 242), (36, 96, 196)
RED_METRES = 5.0
FLOAT_METRES = 0.115
BEHIND_WALL_METRES = 2.0
LENGTH_METRES = 34
# Seen from the side: metres from the lens, and how much of their colour the water takes.
FAR_SIDES = ((LANE_METRES + 4.0, 0.62), (LANE_METRES + 1.5, 0.30))
LANE_HALF = 1.25


@dataclass(frozen=True, eq=False)
class Rope:
    """One rope drawn once, as a strip from 2 m behind the wall."""

    scale: float
    """Pixels a metre."""
    picture: Picture
    cover: Plane
    """Height x width x 1."""


def ropes(lens: Lens) -> list[Rope]:
    """The two behind the swimmer, the farther first. The ropes on this side would hide too
    much and are left out."""
    return [_rope(lens.focal / away, veil) for away, veil in FAR_SIDES]


def _rope(scale: float, veil: float) -> Rope:
    strip = _strip(scale * 2)
    small = strip.resize((strip.width // 2, strip.height // 2), Image.Resampling.LANCZOS)
    pixels = np.asarray(small, np.float32)
    down = np.arange(pixels.shape[0]) / pixels.shape[0]
    light = np.interp(down, (0.2, 0.35, 0.5, 0.8), (1.15, 1.1, 0.9, 0.5))[:, None, None]
    lit = np.clip(pixels[..., :3] * light, 0, 255)
    veiled = lit * (1 - veil) + FOG * 1.15 * veil
    is_under = (down > 0.42)[:, None, None]
    picture = np.where(is_under, veiled, lit * 0.94 + 8)
    return Rope(scale, picture.astype(np.float32), pixels[..., 3:] / 255)


def _strip(scale: float) -> Image.Image:
    """Cable and floats at `scale` pixels a metre."""
    width, height = int(LENGTH_METRES * scale), int(0.22 * scale)
    image = Image.new("RGBA", (width, height), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    middle = height // 2, max(1, int(0.014 * scale))
    draw.line((0, middle[0], width, middle[0]), fill=(40, 60, 80, 255), width=middle[1])
    for place in np.arange(-BEHIND_WALL_METRES, 32, FLOAT_METRES).tolist():
        colour, left = _colour(place, 0.75), (place + BEHIND_WALL_METRES) * scale
        for start, shade in ((0, 0.72), (0.25, 1.0), (0.55, 0.86)):
            r, g, b = (int(part * shade) for part in colour)
            box = (left + start * 0.09 * scale, height * 0.26, left + 0.095 * scale, height * 0.74)
            draw.rounded_rectangle(box, radius=0.03 * scale, fill=(r, g, b, 255))
    return image


def _colour(place: float, pitch: float) -> Colour:
    if place < RED_METRES:
        return RED
    return WHITE if int(place / pitch) % 2 else BLUE


def put_beside(picture: Picture, rope: Rope, lens: Lens, bob: float) -> None:
    """The rope behind the swimmer, `bob` pixels lower than the still surface; shifted by parts
    of a pixel, so that it does not jump from one to the next."""
    start = (lens.along - lens.centre / rope.scale + BEHIND_WALL_METRES) * rope.scale
    whole = int(np.floor(start))
    part = start - whole
    wall = int(lens.centre - rope.scale * lens.along)
    first = max(0, -whole, wall)
    last = min(lens.width, rope.picture.shape[1] - 1 - whole)
    if last <= first:
        return
    here = slice(whole + first, whole + last)
    after = slice(whole + first + 1, whole + last + 1)
    colour = rope.picture[:, here] * (1 - part) + rope.picture[:, after] * part
    cover = rope.cover[:, here] * (1 - part) + rope.cover[:, after] * part
    top = round(lens.horizon - colour.shape[0] * 0.5 + bob + 2)
    below = picture[top : top + colour.shape[0], first:last]
    below += (colour - below) * cover


def put_ahead(picture: Picture, lens: Lens, t: float) -> None:
    """Both ropes of the lane in a front view, float by float, the farthest first."""
    for away in np.arange(22, 1.6, -0.16).tolist():
        scale = lens.focal / away
        if scale * 0.055 < 1:
            continue
        veil = 1 - float(np.exp(-away * 0.09))
        r, g, b = (
            part * (1 - veil) + float(fog) * veil
            for part, fog in zip(_colour(lens.along - away, 0.8), FOG, strict=True)
        )
        row = lens.horizon + 2 * float(np.sin(t * 1.5 + away)) + 0.02 * scale
        for side in (-LANE_HALF, LANE_HALF):
            column = lens.centre + scale * side
            dab(
                picture,
                Spot(column, row, scale * 0.06, (r, g, b), 0.95, softness=1.2, is_shaded=True),
            )
