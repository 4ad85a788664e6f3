"""What stands above the water: the hall behind the pool, out of focus, and the flags."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from portal.demo.drawing.lens import Lens, Picture

WIDTH = 2600
SPARE_ROWS = 40
"""Left out at the top, where the blur is dark."""
FLAG_LINE_METRES = 5.0
"""From the wall."""
FLAG_HEIGHT_METRES = 1.8
FLAG_COLOURS = ((222, 70, 60), (250, 240, 230), (60, 110, 200))


def hall(lens: Lens) -> Picture:
    """Windows, a wall and benches, wider than any picture."""
    height = lens.horizon + SPARE_ROWS
    image = Image.new("RGB", (WIDTH, height), (176, 188, 190))
    draw = ImageDraw.Draw(image)
    for row in range(height):
        share = row / height
        fill = int(196 - 30 * share), int(206 - 24 * share), int(208 - 18 * share)
        draw.line((0, row, WIDTH, row), fill=fill)
    for left in range(-100, WIDTH, 330):
        draw.rectangle((left, 20, left + 250, int(height * 0.52)), fill=(232, 242, 246))
        draw.rectangle((left + 122, 20, left + 129, int(height * 0.52)), fill=(170, 182, 186))
    draw.rectangle((0, int(height * 0.60), WIDTH, int(height * 0.66)), fill=(150, 158, 160))
    draw.rectangle((0, int(height * 0.70), WIDTH, height), fill=(206, 202, 192))
    for left in range(60, WIDTH, 470):
        bench = (left, int(height * 0.55), left + 110, int(height * 0.72))
        draw.rectangle(bench, fill=(188, 110, 82))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(9)), np.float32)


def put_hall(picture: Picture, hall: Picture, lens: Lens) -> None:
    """Far behind the pool, it goes by slowly."""
    left = int(400 + lens.along * 34) % (hall.shape[1] - lens.width)
    rows = slice(SPARE_ROWS, SPARE_ROWS + lens.horizon)
    picture[: lens.horizon] = hall[rows, left : left + lens.width]


def put_flags(picture: Picture, lens: Lens, t: float) -> None:
    """The far half of the string across the pool; the near half is behind the lens."""
    for away in np.arange(25, 15.2, -0.5).tolist():
        scale = lens.focal / away
        column = lens.centre + scale * (FLAG_LINE_METRES - lens.along)
        row = lens.horizon - scale * FLAG_HEIGHT_METRES
        if -20 < column < lens.width + 20 and row < lens.horizon:
            _put_flag(picture, (column, row), away, (scale, lens.horizon), t)


def _put_flag(
    picture: Picture,
    corner: tuple[float, float],
    away: float,
    scale_and_horizon: tuple[float, int],
    t: float,
) -> None:
    """A triangle that hangs from its breadth and sways at the tip."""
    (column, top), (scale, horizon) = corner, scale_and_horizon
    colour = np.array(FLAG_COLOURS[int(away / 0.34) % 3], np.float32)
    breadth, height = 0.15 * scale, 0.36 * scale
    for row in range(int(max(0, top)), int(min(horizon, top + height))):
        down = (row - top) / height
        half = breadth * (1 - down) * 0.55 + 0.6
        sway = 1.5 * float(np.sin(t * 2 + away * 3)) * down
        left, right = int(column - half + sway), int(column + half + sway) + 1
        if left >= 0 and right < picture.shape[1]:
            strip = picture[row, left:right]
            strip += (colour - strip) * 0.65
