"""The body as a relief: which solid each pixel shows, how far away, and facing where.

Every ellipsoid is drawn into one depth buffer, at twice the picture's size; the mean of 2 x 2
pixels later gives soft edges. Coordinates here: columns right, rows up, depth toward the lens,
all in such small pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from portal.demo.drawing.body import Vector
from portal.demo.drawing.curves import Numbers
from portal.demo.drawing.flesh import Solid
from portal.demo.drawing.lens import Lens
from portal.demo.drawing.tiles import Plane

FINER = 2
FLESH_METRES = 0.16
"""No solid reaches farther from its centre."""
MARGIN = 40
"""Pixels drawn outside the picture."""
NEIGHBOUR = 3
"""Pixels to those whose normals are averaged."""
SEAM_DEPTH = 8 * FINER

Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Box:
    """A part of the picture, in its own pixels."""

    left: int
    top: int
    right: int
    bottom: int

    @classmethod
    def around(cls, places: Numbers, lens: Lens) -> Self | None:
        """Of all solids, given their columns, rows and scales; None if they are out of sight."""
        columns, rows, scales = places.T
        pad = FLESH_METRES * scales
        box = cls(
            max(int((columns - pad).min()), -MARGIN),
            max(int((rows - pad).min()), -MARGIN),
            min(int((columns + pad).max()) + 1, lens.width + MARGIN),
            min(int((rows + pad).max()) + 1, lens.height + MARGIN),
        )
        too_small = box.right - box.left < 4 or box.bottom - box.top < 4
        return None if too_small else box

    @property
    def shape(self) -> tuple[int, int]:
        """Small rows and columns."""
        return (self.bottom - self.top) * FINER, (self.right - self.left) * FINER


@dataclass(frozen=True, eq=False)
class Relief:
    """Of the pixels that show the body, one entry each."""

    box: Box
    scale: float
    """Small pixels a metre, at the middle of the body."""
    place: Whole
    """In the flattened box."""
    solid: NDArray[np.int16]
    depth: Plane
    facing: Plane
    """3 x pixels, of length one: right, up, toward the lens."""

    @property
    def columns(self) -> Plane:
        """In the picture."""
        across = (self.place % self.box.shape[1]).astype(np.float32)
        return across / np.float32(FINER) + np.float32(self.box.left)

    @property
    def rows(self) -> Plane:
        down = (self.place // self.box.shape[1]).astype(np.float32)
        return down / np.float32(FINER) + np.float32(self.box.top)


class Buffer:
    """What is nearest to the lens in each pixel so far."""

    def __init__(self, box: Box, count: int, scale: float) -> None:
        self.box, self.scale = box, scale
        self.depth = np.full(box.shape, -1e9, np.float32)
        self.solid = np.full(box.shape, -1, np.int16)
        self.quadrics = np.zeros((count, 3, 3), np.float32)
        self.centres = np.zeros((count, 3), np.float32)

    def put(self, number: int, solid: Solid, seen: Vector, lens: Lens) -> None:
        """Draw one solid. `seen`: its centre as the lens has it, metres."""
        scale = lens.focal / float(seen[2]) * FINER
        axes = lens.turned(solid.axes) * np.array([1, 1, -1.0])
        radii = np.asarray(solid.radii) * scale
        column = (lens.centre - self.box.left) * FINER - 0.5 + scale * float(seen[0])
        row = (lens.horizon - self.box.top) * FINER - 0.5 - scale * float(seen[1])
        reach = np.sqrt(((axes * radii[:, None]) ** 2).sum(0))
        height, width = self.box.shape
        left, right = max(0, int(column - reach[0])), min(width, int(column + reach[0]) + 2)
        top, bottom = max(0, int(row - reach[1])), min(height, int(row + reach[1]) + 2)
        if right <= left or bottom <= top:
            return
        dx = np.arange(left, right, dtype=np.float32) - np.float32(column)
        dy = (np.float32(row) - np.arange(top, bottom, dtype=np.float32))[:, None]
        stretched = axes / radii[:, None]
        front, is_hit = _front(stretched, dx, dy)
        # One unit of depth for all solids: each one's own scale would set far arms in the chest.
        front *= np.float32(self.scale / scale)
        front -= np.float32(float(seen[2]) * self.scale)
        here = self.depth[top:bottom, left:right]
        is_hit &= front > here
        np.copyto(here, front, where=is_hit)
        np.copyto(self.solid[top:bottom, left:right], number, where=is_hit)
        kept = solid.along + (1 - solid.along) * axes[0, 2] ** 2
        shading = stretched * np.array([[kept], [1], [1]])
        self.quadrics[number] = shading.T @ shading
        self.centres[number] = column, row, -float(seen[2]) * self.scale


def _front(stretched: Numbers, dx: Plane, dy: Plane) -> tuple[Plane, NDArray[np.bool_]]:
    """How far the near side of an ellipsoid bulges, and where it is hit at all. `stretched`:
    its axes over their radii; z is the root of one quadratic form in (dx, dy)."""
    q = (stretched.T @ stretched).astype(np.float32)
    over = q[2, 2]
    bx, by = q[0, 2] / over, q[1, 2] / over
    xx, yy = q[0, 0] / over - bx * bx, q[1, 1] / over - by * by
    xy = 2 * (q[0, 1] / over - bx * by)
    inside = (1 / over - xx * dx * dx)[None] - dy * (xy * dx[None] + yy * dy)
    is_hit = inside > 0
    front = np.sqrt(np.maximum(inside, 0, out=inside), out=inside)
    front -= bx * dx
    front -= by * dy
    return front, is_hit


def relief(solids: Sequence[Solid], lens: Lens) -> Relief | None:
    """None: out of sight."""
    seen = lens.seen(np.array([solid.centre for solid in solids]))
    scales = lens.focal / seen[:, 2]
    columns = lens.centre + scales * seen[:, 0]
    rows = lens.horizon - scales * seen[:, 1]
    box = Box.around(np.column_stack([columns, rows, scales]), lens)
    if box is None:
        return None
    buffer = Buffer(box, len(solids), float(scales.mean()) * FINER)
    for number, solid in enumerate(solids):
        buffer.put(number, solid, seen[number], lens)
    place = np.flatnonzero(buffer.solid >= 0)
    if not len(place):
        return None
    depth, solid_there = buffer.depth.ravel()[place], buffer.solid.ravel()[place]
    facing = _facing(buffer, place, depth, solid_there)
    return Relief(box, buffer.scale, place, solid_there, depth, facing)


def _facing(buffer: Buffer, place: Whole, depth: Plane, solid: NDArray[np.int16]) -> Plane:
    """Normals, averaged with two neighbours of like depth: the seams between solids vanish,
    the outlines stay."""
    width = buffer.box.shape[1]
    rows, columns = np.divmod(place, width)
    centre, quadric = buffer.centres[solid], buffer.quadrics[solid]
    dx = columns.astype(np.float32) - centre[:, 0]
    dy = centre[:, 1] - rows.astype(np.float32)
    dz = depth - centre[:, 2]
    parts = [
        quadric[:, i, 0] * dx + quadric[:, i, 1] * dy + quadric[:, i, 2] * dz for i in range(3)
    ]
    facing = _of_length_one(np.stack(parts).astype(np.float32))
    spread = np.zeros((3, buffer.depth.size), np.float32)
    spread[:, place] = facing
    flat = buffer.depth.ravel()
    for step in (NEIGHBOUR, -NEIGHBOUR * width):
        other = np.clip(place + step, 0, flat.size - 1)
        facing = facing + spread[:, other] * (np.abs(flat[other] - depth) < SEAM_DEPTH)
    return _of_length_one(facing)


def _of_length_one(vectors: Plane) -> Plane:
    scaled: Plane = vectors / (np.sqrt((vectors * vectors).sum(0)) + np.float32(1e-6))
    return scaled
