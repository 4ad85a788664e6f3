from __future__ import annotations

import re

import pytest

from portal.notes import hanging


@pytest.mark.parametrize(
    ("count", "sizes"), [(0, []), (1, [1]), (6, [6]), (7, [4, 3]), (13, [5, 4, 4]), (20, [5] * 4)]
)
def test_lines_are_as_even_as_they_can_be(count: int, sizes: list[int]):
    assert [len(line.flags) for line in hanging.hang(count)] == sizes


def corners(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]


@pytest.mark.parametrize("count", range(1, 13))
def test_flags_hang_inside_the_box_side_by_side(count: int):
    for line in hanging.hang(count, lowest=0):
        right_before = 0.0
        for flag in line.flags:
            (left, _), (right, _), (middle, tip) = corners(flag.cloth)
            assert right_before < left < middle < right < hanging.WIDTH
            assert float(flag.middle) == middle
            assert tip < float(flag.word_at) < line.height
            right_before = right


def test_the_focus_hangs_lowest():
    [line] = hanging.hang(5, lowest=2)

    tips = [corners(flag.cloth)[2][1] for flag in line.flags]
    assert [flag.is_lowest for flag in line.flags] == [False, False, True, False, False]
    assert max(tips) == tips[2]


def test_corners_lie_on_the_string():
    """A quadratic curve is half way down to its handle in the middle."""
    [line] = hanging.hang(1)
    ends, handle = corners(hanging.string())[::2], corners(hanging.string())[1]

    (left, at_left), (right, at_right), _ = corners(line.flags[0].cloth)

    assert left + right == pytest.approx(hanging.WIDTH, abs=0.2)
    assert at_left == at_right == pytest.approx((ends[0][1] + handle[1]) / 2, abs=0.2)


@pytest.mark.parametrize("place", [0.0, 0.3, 1.0])
def test_a_large_knot_covers_the_small_one_below_it(place: float):
    """On the string of a clip every moment has a small one."""
    small = [float(number) for number in re.findall(r"[\d.]+", hanging.knot(place))]
    large = [float(number) for number in re.findall(r"[\d.]+", hanging.large_knot(place))]

    left, top, right, middle, tip = small
    assert 0 < large[0] < left < middle < right < large[2] < hanging.LENGTH
    assert large[1] == top < tip < large[4]
    assert large[3] == middle
