"""Everything under the surface but ropes and swimmer: floor, walls, light shafts.

Made at half size and enlarged, which costs a fourth and shows nowhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image

from portal.demo.drawing.lens import Lens, Picture, View
from portal.demo.drawing.moves import LANE_METRES
from portal.demo.drawing.tiles import (
    FAR_WALL_METRES,
    FLOOR,
    FLOOR_METRES,
    FOG,
    WALL,
    Plane,
    caustics,
    cross,
    fogged,
    lines,
    painted,
    resized,
    within,
)

SHAFT = np.array([34, 44, 40], np.float32)
FAR_WALL = np.array([70, 150, 178], np.float32)
FRONT_FOG_METRES = 26.0
"""In a front view the floor ends here."""


@dataclass(frozen=True, eq=False)
class Grid:
    """The half-size picture below the horizon. Columns and rows count from the lens's axis."""

    lens: Lens
    picture: Picture
    focal: float
    columns: Plane
    """1 x width."""
    rows: Plane
    """Height x 1."""

    @property
    def floor_row(self) -> int:
        """The first row that shows floor."""
        is_side = self.lens.view == View.SIDE
        return int(
            np.ceil(self.focal * FLOOR_METRES / (FAR_WALL_METRES if is_side else FRONT_FOG_METRES))
        )


def water(lens: Lens, t: float) -> Picture:
    """The whole picture, filled from the horizon down. `t` in seconds."""
    grid = _grid(lens)
    if lens.view == View.SIDE:
        _far_wall(grid)
        _floor(grid, t)
        _end_wall_beside(grid)
    else:
        _floor(grid, t)
        _end_wall_behind(grid)
    grid.picture[:] += _shafts(grid, t) * SHAFT
    half = Image.fromarray(np.clip(grid.picture, 0, 255).astype(np.uint8))
    picture = np.empty((lens.height, lens.width, 3), np.float32)
    size = lens.width, lens.height - lens.horizon
    picture[lens.horizon :] = np.asarray(half.resize(size, Image.Resampling.BICUBIC))
    return picture


def _grid(lens: Lens) -> Grid:
    width, height = lens.width // 2, (lens.height - lens.horizon) // 2
    picture = np.empty((height, width, 3), np.float32)
    picture[:] = FOG * (1.12 - 0.25 * np.linspace(0, 1, height, dtype=np.float32))[:, None, None]
    return Grid(
        lens,
        picture,
        lens.focal / 2,
        (np.arange(width, dtype=np.float32) - np.float32((lens.centre - 0.5) / 2))[None],
        (np.arange(height, dtype=np.float32) + 0.25)[:, None],
    )


def _shafts(grid: Grid, t: float) -> Plane:
    """A fan of light from above, height x width x 1."""
    across, down = np.meshgrid(np.linspace(-1, 1, 96), np.linspace(0, 1, 54))
    fan = across / (1 + 0.55 * down) * 7 + grid.lens.along * 0.25
    light = np.sin(fan * 3.1 + t * 0.55) + np.sin(fan * 5.3 - t * 0.8 + 1)
    light = np.clip((light + 0.7 * np.sin(fan * 9.7 + t * 1.1)) / 2.7, 0, 1) ** 1.3
    height, width = grid.picture.shape[:2]
    return resized(light * np.exp(-1.5 * down), width, height)[..., None]


def _far_wall(grid: Grid) -> None:
    """The long wall across the pool."""
    pixel = FAR_WALL_METRES / grid.focal
    depth = grid.rows[: grid.floor_row] * pixel
    along = grid.columns * pixel + grid.lens.along
    size = np.full((1, 1), pixel, np.float32)
    grout = np.maximum(lines(along, 0.012, size, 0.5), lines(depth, 0.012, size, 0.5))
    gutter = np.clip(0.05 - np.abs(depth - 0.22), 0, 0.02) / 0.02
    wall = FAR_WALL * (1 - 0.10 * grout - 0.25 * gutter)[..., None]
    shade = 1.10 - 0.38 * (depth / FLOOR_METRES)
    grid.picture[: grid.floor_row] = (wall * 0.58 + FOG * 0.42) * shade[..., None]


def _floor(grid: Grid, t: float) -> None:
    """Tiles, the lane's dark line, and its bar before the wall."""
    top, lens = grid.floor_row, grid.lens
    away = grid.focal * FLOOR_METRES / np.maximum(grid.rows[top:], 1)
    # A pixel covers more metres along the line of sight than across it.
    wide, long = away / grid.focal, away * away / (grid.focal * FLOOR_METRES)
    if lens.view == View.SIDE:
        x, z = grid.columns * wide + np.float32(lens.along), away
        sideways, pixel_x, pixel_z = np.abs(away - LANE_METRES), wide, long
    else:
        x, z = np.float32(lens.along) - away, grid.columns * wide + LANE_METRES
        sideways, pixel_x, pixel_z = np.abs(grid.columns * wide), long, wide
    grout = np.maximum(lines(x, 0.010, pixel_x), lines(z, 0.010, pixel_z))
    line = within(sideways, 0.125, pixel_z) * np.clip((x - 2.0) / pixel_x + 0.5, 0, 1)
    bar = within(sideways, 0.5, pixel_z) * within(np.abs(x - 2.125), 0.125, pixel_x)
    floor = painted(FLOOR, grout, np.maximum(line, bar))
    floor = floor * (0.80 + 0.42 * _net(x, z, floor.shape[1], floor.shape[0], t))[..., None]
    grid.picture[top:] = fogged(floor, away[..., None], thickness=0.115)


def _net(x: Plane, z: Plane, width: int, height: int, t: float) -> Plane:
    """Caustics on the floor, made once more at half size."""
    small = width // 2, max(2, height // 2)
    spread = [resized(np.broadcast_to(plane, (height, width)), *small) for plane in (x, z)]
    net = caustics(spread[0] * 1.25, spread[1] * 1.25, t * 1.3)
    return resized(net, width, height)


def _end_wall_beside(grid: Grid) -> None:
    """The wall at the lane's end, seen from the side: a plane that runs away from the lens."""
    along = grid.lens.along
    seen = np.nonzero(grid.columns[0] < -grid.focal * along / FAR_WALL_METRES)[0]
    if along <= 0 or not len(seen):
        return
    count = int(seen[-1]) + 1
    z = -grid.focal * along / grid.columns[:, :count]
    pixel = z / grid.focal
    depth, long = grid.rows * pixel, pixel * z / along
    grout = np.maximum(lines(z, 0.008, long), lines(depth, 0.008, pixel))
    wall = painted(WALL, grout, cross(z - LANE_METRES, depth, long, pixel))
    wall = wall * (1.08 - 0.22 * depth / FLOOR_METRES)[..., None]
    wall = fogged(wall, z[..., None], thickness=0.10)
    np.copyto(grid.picture[:, :count], wall, where=(depth < FLOOR_METRES)[..., None])


def _end_wall_behind(grid: Grid) -> None:
    """The same wall behind a swimmer who comes toward the lens."""
    away = grid.lens.along
    if away <= 1:
        return
    bottom = min(len(grid.rows), int(grid.focal * FLOOR_METRES / away) + 1)
    pixel = np.full((1, 1), away / grid.focal, np.float32)
    depth, sideways = grid.rows[:bottom] * pixel, grid.columns * pixel
    grout = np.maximum(lines(sideways, 0.010, pixel), lines(depth, 0.010, pixel))
    wall = painted(WALL, grout, cross(sideways, depth, pixel, pixel))
    metres = np.full((1, 1, 1), away, np.float32)
    grid.picture[:bottom] = fogged(wall, metres, thickness=0.115, fog=FOG * 1.05)
