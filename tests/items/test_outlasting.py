from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter  # type: ignore[import-untyped]
from lifelines.datasets import load_leukemia  # type: ignore[import-untyped]

from portal.items.outlasting import Episode, Point, curve, episode, may_be_told, median
from tests.items.sequences import looks

# Freireich 1963: weeks of remission, + where it still went on.
DRUG = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def episodes(text: str) -> list[Episode]:
    return [Episode(int(word.rstrip("+")), 0.0, not word.endswith("+")) for word in text.split()]


def at(points: list[Point], looks: int) -> Point:
    return next(point for point in points if point.looks == looks)


def test_the_curve():
    points = curve(episodes(DRUG))

    assert [point.looks for point in points] == [6, 7, 10, 13, 16, 22, 23]
    values = [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179]
    assert [point.still_open for point in points] == pytest.approx(values, rel=1e-5)


def test_its_error_and_band():
    """Greenwood 1926; all seven errors from statsmodels' SurvfuncRight."""
    points = curve(episodes(DRUG))

    errors = [0.0763604, 0.0869353, 0.0963497, 0.1068147, 0.1140539, 0.1282338, 0.1345915]
    assert [point.error for point in points] == pytest.approx(errors, rel=1e-5)
    assert at(points, 10).band == pytest.approx((0.5032, 0.889362), rel=1e-5)


def test_medians():
    assert median(curve(episodes(DRUG))) == 23
    assert median(curve(episodes(PLACEBO))) == 8
    assert median(curve(episodes("3 4+ 5+ 6+"))) is None
    assert median(curve([])) is None


def test_the_data_are_those_of_the_book():
    book = load_leukemia()
    ours = sorted((each.looks, each.is_fixed) for each in episodes(DRUG))

    drug = book[book["Rx"] == 0]
    assert sorted(zip(drug["t"], drug["status"] == 1, strict=True)) == ours


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=40))
def test_the_curve_is_the_libraries_for_all_episodes(ends: list[tuple[int, bool]]):
    fitter = KaplanMeierFitter().fit([time for time, _ in ends], [fixed for _, fixed in ends])
    for point in curve([Episode(time, 0.0, fixed) for time, fixed in ends]):
        assert point.still_open == pytest.approx(fitter.predict(point.looks), abs=1e-9)
        if point.still_open > 1e-9:
            band = fitter.confidence_interval_.loc[point.looks]
            assert point.band == pytest.approx(tuple(band), abs=1e-6)


@pytest.mark.parametrize(
    ("signs", "length", "is_fixed"),
    [
        ("11000", 1, True),
        ("1101000", 3, True),
        # Not confirmed: it is known to have lasted to the last faulty look.
        ("1100", 0, False),
        ("110100", 2, False),
        ("1.1.0.00", 1, True),
        # Only the first episode counts.
        ("110001100000", 1, True),
        ("100011000", 0, False),
    ],
)
def test_an_episode(signs: str, length: int, is_fixed: bool):
    found = episode(looks(signs))

    assert found
    assert (found.looks, found.is_fixed) == (length, is_fixed)


@pytest.mark.parametrize("signs", ["", "000", "1", "1000"])
def test_what_never_recurred_has_no_episode(signs: str):
    assert episode(looks(signs)) is None


def test_weeks_are_a_second_clock():
    found = episode(looks("1101000", days=14))

    assert found
    assert found.weeks == 6


def test_ten_fixes_of_five_swimmers_are_told():
    fixed, still = Episode(2, 2.0, True), Episode(2, 2.0, False)

    assert may_be_told([(number % 5, fixed) for number in range(10)])
    assert not may_be_told([(number % 4, fixed) for number in range(10)])
    assert not may_be_told([(number, fixed) for number in range(9)] + [(9, still)])
