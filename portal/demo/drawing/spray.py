"""Drops thrown at the surface, bubbles under it, and breath."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from portal.demo.drawing.body import SIDES, Vector
from portal.demo.drawing.brush import Spot, dab
from portal.demo.drawing.lens import Lens, Picture
from portal.demo.drawing.moves import Move

SEED = 11
NEAR_METRES = 0.10
"""So near the surface a fast joint throws water."""
SLOW = 0.5
"""Metres a second; what is slower throws none."""
MOST = 420
FALL = 4.9
"""Metres a second, a second: half of free fall looks right for drops."""
DROP, BUBBLE = (236, 244, 246), (206, 238, 246)
THROWING = (
    *(f"{name}{side}" for name in ("fingers", "wrist", "toes", "heel") for side in SIDES),
    *("crown", "skull", "neck"),
    *(f"{name}{side}" for name in ("elbow", "knee") for side in SIDES),
)


@dataclass
class Bead:
    """A drop or a bubble on its way. Metres and seconds."""

    is_drop: bool
    place: Vector
    forward: float
    up: float
    """Metres a second."""
    radius: float
    left: float
    """Of its life; also how well it is seen."""


@dataclass(frozen=True)
class Seen:
    """A bead at one frame."""

    is_drop: bool
    place: tuple[float, float, float]
    radius: float
    left: float


def beads(move: Move) -> list[list[Seen]]:
    """One list a frame. A bead's way depends on all frames before, so they are followed through
    the whole move once; afterwards each frame stands for itself."""
    chance, step = np.random.default_rng(SEED), 1 / move.rate
    live: list[Bead] = []
    frames: list[list[Seen]] = []
    before: dict[str, Vector] = {}
    for frame in range(len(move)):
        joints = move.body(frame).joints
        for name in THROWING:
            speed = (joints[name] - before[name]) / step if before else np.zeros(3)
            live += _thrown(joints[name], speed, chance, amount=30 / move.rate)
        if move.breathes_out[frame] and joints["skull"][1] < -0.06:
            live += _breath(joints["skull"], chance, amount=30 / move.rate)
        frames.append([_seen(bead) for bead in live])
        live = [bead for bead in live if _goes_on(bead, step)][-MOST:]
        before = joints
    return frames


def _seen(bead: Bead) -> Seen:
    x, y, z = bead.place.tolist()
    return Seen(bead.is_drop, (x, y, z), bead.radius, bead.left)


def _thrown(
    joint: Vector, speed: Vector, chance: np.random.Generator, *, amount: float
) -> Iterator[Bead]:
    """`amount`: 1 at 30 frames a second."""
    fast = float(np.linalg.norm(speed))
    if abs(joint[1]) >= NEAR_METRES or fast <= SLOW:
        return
    near = (1 - abs(float(joint[1])) / NEAR_METRES) * min(fast, 5) * amount
    for _each in range(chance.poisson(near * 1.5)):
        off = chance.normal(0, 0.035, 3)
        yield Bead(
            is_drop=True,
            place=np.array([joint[0] + 1.5 * off[0], 0.01 + 0.3 * off[1], joint[2] + off[2]]),
            forward=float(speed[0]) * 0.28 + chance.normal(0, 0.25),
            up=abs(chance.normal(0, 0.55)) * min(1.6, fast / 2.2),
            radius=chance.uniform(0.003, 0.010),
            left=0.9,
        )
    for _each in range(chance.poisson(near * 2.2)):
        off = chance.normal(0, 0.05, 3)
        depth = min(-0.01, joint[1] - abs(off[1]))
        yield Bead(
            is_drop=False,
            place=np.array([joint[0] + off[0], depth, joint[2] + off[2]]),
            forward=float(speed[0]) * 0.18 + chance.normal(0, 0.1),
            up=float(speed[1]) * 0.1 - chance.uniform(0, 0.35),
            radius=chance.uniform(0.002, 0.011),
            left=chance.uniform(0.4, 1.0),
        )


def _breath(skull: Vector, chance: np.random.Generator, *, amount: float) -> Iterator[Bead]:
    """Bubbles from the mouth."""
    for _each in range(chance.poisson(2.2 * amount)):
        yield Bead(
            is_drop=False,
            place=skull + chance.normal(0, 0.02, 3) + np.array([0.05, -0.05, -0.06]),
            forward=chance.normal(0.5, 0.15),
            up=chance.uniform(-0.05, 0.1),
            radius=chance.uniform(0.004, 0.015),
            left=1.2,
        )


def _goes_on(bead: Bead, step: float) -> bool:
    """Move it on by `step` seconds; False when it has burst or fallen in."""
    if bead.is_drop:
        bead.up -= FALL * step
        bead.left -= step * 1.1
    else:
        bead.forward *= 1 - 2.2 * step
        bead.up += (0.35 + bead.radius * 14 - bead.up) * step * 3
        bead.left -= step
    bead.place = bead.place + np.array([bead.forward * step, bead.up * step, 0.0])
    height = float(bead.place[1])
    return bead.left > 0 and (height > -0.02 if bead.is_drop else height < 0)


def put(picture: Picture, seen: Sequence[Seen], lens: Lens) -> None:
    if not seen:
        return
    places = np.array([bead.place for bead in seen])
    scales = lens.focal / lens.seen(places)[:, 2]
    for bead, (column, row), scale in zip(seen, lens.pixels(places), scales, strict=True):
        if scale > 0:
            dab(picture, _spot(bead, float(column), float(row), float(scale)))


def _spot(bead: Seen, column: float, row: float, scale: float) -> Spot:
    radius = max(bead.radius * scale, 0.9)
    if bead.is_drop:
        return Spot(column, row, radius, DROP, min(0.85, bead.left * 1.4))
    return Spot(column, row, radius, BUBBLE, min(0.55, bead.left * 0.8), is_ring=True)
