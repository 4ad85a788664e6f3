"""What the demo's coaches draw: angles at joints whose pixels the footage is known to show."""

from __future__ import annotations

from typing import Any

from portal.demo.truth import Truth
from portal.review.chalk import Drawing, Shape

WIDTH = 0.008
# Three pixels off on a frame of 540, as with a mouse at the bench.
HAND = 3 / 540


def angle(joints: str, truth: Truth, *, frame: int) -> dict[str, Any]:
    """`joints` names the end of one leg, the joint, and the other end; `frame` is the footage's."""
    wide, high = truth.size
    pixels = [truth.pixels[name][frame] for name in joints.split()]
    points = tuple((column / wide, row / high) for column, row in pixels)
    return Drawing(wide / high, (Shape("angle", points, WIDTH, spread=HAND),)).as_json()
