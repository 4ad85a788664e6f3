"""The body around the joints: some 155 ellipsoids.

Radii are shares of the stature, by eye. Clothed to the knee and capped, with goggles and without
features: nobody real.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from portal.demo.drawing.body import METRES, SIDES, STATURE, Axes, Skeleton, Vector, unit

STATIONS = (-0.16, 0.0, 0.18, 0.42, 0.70, 0.92, 1.03)
"""Along the trunk, 0 at the hip joints and 1 at the shoulders."""
HALF_BREADTHS = (0.080, 0.094, 0.089, 0.080, 0.092, 0.098, 0.070)
HALF_DEPTHS = (0.052, 0.062, 0.058, 0.054, 0.066, 0.056, 0.038)
SUIT_TOP = 0.90
SUIT_LEG = 0.62
"""Of the thigh."""
# A limb is many long ellipsoids that overlap; shaded by their own normals they would look like a
# caterpillar, so the share of the normal along the limb is taken down to this.
TUBE = 0.12


class Stuff(IntEnum):
    SKIN = 1
    SUIT = 2
    """With a side seam, another colour on the belly."""
    CAP = 3
    LENS = 4
    SEAT = 5
    """Of the suit, all in the colour of its back."""


@dataclass(frozen=True)
class Solid:
    centre: Vector
    axes: Axes
    radii: tuple[float, float, float]
    """Along the axes, metres."""
    stuff: Stuff
    along: float = 1.0
    """How much of the normal along the first axis is kept when shading."""


@dataclass(frozen=True)
class Limb:
    """A tube from one joint to another."""

    start: Vector
    end: Vector
    side: Vector
    """Across it; `flat` is the other breadth over this one."""
    radii: tuple[float, ...]
    """At even stations."""
    count: int = 7
    overlap: float = 2.5
    flat: float = 1.0
    bulge: Vector | None = None
    """Which way its muscle stands out."""
    clothed: float = 0.0
    """The share in the suit, from its start."""


def solids(skeleton: Skeleton, *, dense: int = 1) -> list[Solid]:
    """`dense` 2 for views along the limbs, where they would show as rings."""
    found = [*_trunk(skeleton, dense), *_head(skeleton, dense)]
    for side in SIDES:
        found += _arm(skeleton, side, dense)
        found += _leg(skeleton, side, dense)
    return found


def _trunk(body: Skeleton, dense: int) -> Iterator[Solid]:
    for station in np.linspace(-0.13, 1.00, 18 * dense):
        share = float(np.clip((station - 0.25) / 0.35, 0, 1))
        share = share * share * (3 - 2 * share)
        axes = np.array(
            [unit((1 - share) * body.pelvis[i] + share * body.chest[i]) for i in range(3)]
        )
        centre = body.joints["hip"] + METRES["trunk"] * (
            body.pelvis[0] * min(station, 0.4) + body.chest[0] * max(0, station - 0.4)
        )
        toward_back = np.interp(
            station, (-0.16, 0, 0.2, 0.45, 0.75, 1), (0.012, 0.010, 0, -0.004, -0.002, 0.006)
        )
        radii = _radii(
            0.054,
            np.interp(station, STATIONS, HALF_DEPTHS),
            np.interp(station, STATIONS, HALF_BREADTHS),
        )
        stuff = Stuff.SUIT if station < SUIT_TOP else Stuff.SKIN
        yield Solid(centre + axes[1] * toward_back * STATURE, axes, radii, stuff, TUBE)
    for sign in SIDES.values():
        centre = body.joints["hip"] + _inside(body.pelvis, -0.022, 0.020, sign * 0.040)
        yield Solid(centre, body.pelvis, _radii(0.066, 0.046, 0.047), Stuff.SEAT, 0.6)


def _head(body: Skeleton, dense: int) -> Iterator[Solid]:
    neck, skull, axes = body.joints["neck"], body.joints["skull"], body.head
    throat = neck - body.chest[0] * 0.02 * STATURE
    yield from _tube(Limb(throat, skull, body.chest[2], (0.036, 0.033, 0.034), 3), dense)

    def part(place: Sequence[float], radii: Sequence[float], stuff: Stuff, along: float) -> Solid:
        return Solid(skull + _inside(axes, *place), axes, _radii(*radii), stuff, along)

    yield part((0.014, 0.012, 0), (0.060, 0.053, 0.046), Stuff.CAP, 1)
    yield part((0.004, -0.026, 0), (0.048, 0.036, 0.037), Stuff.SKIN, 1)
    yield part((-0.030, -0.036, 0), (0.026, 0.023, 0.028), Stuff.SKIN, 1)
    yield part((-0.002, -0.062, 0), (0.011, 0.010, 0.007), Stuff.SKIN, 0.5)
    for sign in SIDES.values():
        yield part((0.016, -0.046, sign * 0.018), (0.0085, 0.0105, 0.0125), Stuff.LENS, 1)


def _arm(body: Skeleton, side: str, dense: int) -> Iterator[Solid]:
    chest, neck = body.chest, body.joints["neck"]
    shoulder, elbow, wrist, fingers = (
        body.joints[name + side] for name in ("shoulder", "elbow", "wrist", "fingers")
    )
    across = unit(np.cross(elbow - shoulder, chest[1]) + 1e-6)
    ribs = neck + _inside(chest, -0.09, 0, SIDES[side] * 0.055)
    under = shoulder + unit(elbow - shoulder) * 0.035 * STATURE
    yield from _tube(Limb(ribs, under, chest[2], (0.022, 0.034, 0.038), 4), dense)
    yield Solid(shoulder, chest, _radii(0.040, 0.038, 0.036), Stuff.SKIN)
    nape, top = neck + _inside(chest, 0.020, 0.012, 0), shoulder + _inside(chest, 0, 0.010, 0)
    yield from _tube(Limb(nape, top, chest[1], (0.034, 0.032, 0.030), 3), dense)
    upper = (0.037, 0.035, 0.031, 0.028, 0.026)
    fore = (0.0265, 0.0285, 0.026, 0.021, 0.017)
    yield from _tube(Limb(shoulder, elbow, across, upper, 8), dense)
    yield from _tube(Limb(elbow, wrist, across, fore, 8), dense)
    yield from _hand(wrist, fingers, chest, SIDES[side], dense)


def _hand(wrist: Vector, fingers: Vector, chest: Axes, sign: int, dense: int) -> Iterator[Solid]:
    ahead = unit(fingers - wrist)
    palm = unit(np.cross(ahead, chest[2]) + 1e-6)
    across = np.cross(ahead, palm)
    flat = (0.018, 0.023, 0.025, 0.023, 0.019, 0.016)
    tip = fingers - ahead * 0.012 * STATURE
    yield from _tube(Limb(wrist, tip, across, flat, overlap=1.7, flat=0.45), dense)
    thumb = wrist + (0.045 * ahead + sign * 0.020 * across) * STATURE
    axes = np.array([unit(ahead + 0.35 * across), across, palm])
    yield Solid(thumb, axes, _radii(0.022, 0.009, 0.009), Stuff.SKIN)


def _leg(body: Skeleton, side: str, dense: int) -> Iterator[Solid]:
    hip, knee, ankle, toes = (body.joints[name + side] for name in ("hip", "knee", "ankle", "toes"))
    across = SIDES[side] * body.pelvis[2]
    thigh = (0.056, 0.056, 0.053, 0.047, 0.041, 0.036)
    shank = (0.033, 0.036, 0.035, 0.028, 0.0215, 0.0195)
    foot = (0.021, 0.023, 0.023, 0.025, 0.025, 0.019)
    yield from _tube(Limb(hip, knee, across, thigh, 11, clothed=SUIT_LEG), dense)
    yield _ball(knee, unit(knee - hip), across, _radii(0.034, 0.034, 0.034))
    yield from _tube(Limb(knee, ankle, across, shank, 10, bulge=body.calves[side]), dense)
    ahead = unit(toes - ankle)
    yield _ball(ankle, ahead, across, _radii(0.026, 0.021, 0.021))
    heel, tip = ankle - ahead * 0.030 * STATURE, toes - ahead * 0.012 * STATURE
    yield from _tube(Limb(heel, tip, across, foot, 8, overlap=1.7, flat=0.62), dense)


def _tube(limb: Limb, dense: int) -> Iterator[Solid]:
    ahead, length = unit(limb.end - limb.start), float(np.linalg.norm(limb.end - limb.start))
    side = unit(limb.side - (limb.side @ ahead) * ahead)
    axes = np.array([ahead, side, np.cross(ahead, side)])
    count = limb.count * dense
    for place in (np.arange(count) + 0.5) / count:
        stations = np.linspace(0, 1, len(limb.radii))
        radius = float(np.interp(place, stations, limb.radii)) * STATURE
        centre = limb.start + ahead * length * place
        if limb.bulge is not None:
            out = np.interp(place, (0, 0.3, 0.6, 1), (0, 0.008, 0.002, 0))
            centre = centre + limb.bulge * (out * STATURE)
        # Not longer than to the limb's end, or bent knees grow spikes.
        reach = min(place, 1 - place) * length + 0.62 * radius
        half = min(limb.overlap * dense * length / count, reach)
        stuff = Stuff.SUIT if place <= limb.clothed else Stuff.SKIN
        yield Solid(centre, axes, (half, radius, radius * limb.flat), stuff, TUBE)


def _ball(centre: Vector, ahead: Vector, across: Vector, radii: tuple[float, ...]) -> Solid:
    axes = np.array([ahead, across, np.cross(ahead, across)])
    return Solid(centre, axes, (radii[0], radii[1], radii[2]), Stuff.SKIN)


def _inside(axes: Axes, ahead: float, back: float, left: float) -> Vector:
    """An offset in shares of the stature along a body part's own axes, in metres."""
    offset: Vector = (ahead * axes[0] + back * axes[1] + left * axes[2]) * STATURE
    return offset


def _radii(ahead: float, back: float, left: float) -> tuple[float, float, float]:
    return float(ahead) * STATURE, float(back) * STATURE, float(left) * STATURE
