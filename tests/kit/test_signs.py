from __future__ import annotations

import numpy as np
import pytest
from django.template import Context, Template

from portal.kit.signs import PAINT, SIGNS, Sign, picture, svg_parts
from portal.kit.templatetags.look import film_time


def rgba(sign: Sign, x: int, y: int, size: int = 96) -> tuple[int, ...]:
    return tuple(int(v) for v in np.asarray(picture(sign, size))[y * size // 24, x * size // 24])


def paint(name: str) -> tuple[int, ...]:
    return (*bytes.fromhex(PAINT[name][1:]), 255)


def test_it_works():
    assert rgba(Sign.GOOD, 12, 12)[3] == 0, "the ring is hollow"
    assert rgba(Sign.GOOD, 4, 12) == paint("good")
    assert rgba(Sign.BOTH, 8, 12) == paint("work")
    assert rgba(Sign.BOTH, 15, 12)[3] == 0, "only the left half is filled"
    assert rgba(Sign.WORK_ON, 12, 12) == paint("work")
    assert rgba(Sign.NOT_LEGAL, 12, 3) == paint("legal")
    assert rgba(Sign.NOT_LEGAL, 12, 12) == paint("legal-bar")
    assert rgba(Sign.NOT_LOOKED_AT, 12, 12) == paint("quiet")
    assert rgba(Sign.NOT_LOOKED_AT, 12, 5)[3] == 0
    assert rgba(Sign.GAP, 12, 6)[3] == 0, "the upright is dashed"


@pytest.mark.parametrize("size", [12, 24])
def test_signs_differ_in_grey_print(size: int):
    """Pairwise, on white, without colour, down to the smallest size in use."""
    greys = {}
    for sign in Sign:
        drawn = np.asarray(picture(sign, size)).astype(float)
        alpha = drawn[..., 3:] / 255
        greys[sign] = (drawn[..., :3] * alpha + 255 * (1 - alpha)).mean(axis=2)
    for one in Sign:
        for other in Sign:
            if one < other:
                assert np.abs(greys[one] - greys[other]).mean() > 8, (one, other)


def test_paint_stands_in_attributes():
    for sign in SIGNS:
        shapes = svg_parts(sign)
        assert "fill=" in shapes
        assert "style" not in shapes


def test_the_tag_escapes_its_label():
    page = Template('{% load look %}{% sign "good" 18 words %}')

    assert 'aria-label="&lt;b&gt;"' in page.render(Context({"words": "<b>"}))
    assert 'aria-hidden="true"' in page.render(Context({"words": ""}))


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0, "0:00.00"), (7.42, "0:07.42"), (59.999, "1:00.00"), (61.5, "1:01.50")],
)
def test_film_time(seconds: float, shown: str):
    assert film_time(seconds) == shown
