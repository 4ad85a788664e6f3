from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint  # type: ignore[import-untyped]

from portal.items.estimating import is_clear_difference, newcombe, recent_band, wilson


@pytest.mark.parametrize(
    ("hits", "of", "level", "low", "high"),
    [
        (0, 3, 0.95, 0.0, 0.561497),
        (3, 3, 0.95, 0.438503, 1.0),
        (3, 5, 0.95, 0.230724, 0.882379),
        (3, 5, 0.90, 0.272483, 0.857294),
        (1, 10, 0.95, 0.0178762, 0.40415),
        (4, 20, 0.90, 0.093118, 0.378377),
        (9, 14, 0.95, 0.387644, 0.836553),
        (0, 10, 0.95, 0.0, 0.2775328),
    ],
)
def test_wilson(hits: int, of: int, level: float, low: float, high: float):
    # statsmodels 0.15; the formula is NIST 7.2.4.1.
    oracle = proportion_confint(hits, of, alpha=1 - level, method="wilson")

    assert wilson(hits, of, level=level) == pytest.approx(oracle, abs=1e-12)
    assert wilson(hits, of, level=level) == pytest.approx((low, high), rel=1e-5)


# Other intervals for the same counts: why Wilson's is the one drawn.
@pytest.mark.parametrize(
    ("method", "hits", "of", "alpha", "low", "high"),
    [
        ("beta", 4, 20, 0.10, 0.0713539, 0.4010281),  # NIST 7.2.4.2
        ("beta", 3, 5, 0.05, 0.1466328, 0.9472550),
        ("beta", 0, 3, 0.05, 0.0, 0.7075982),
        ("jeffreys", 3, 5, 0.05, 0.2094167, 0.9056097),
        ("agresti_coull", 4, 20, 0.05, 0.0749115, 0.4217636),
    ],
)
def test_other_bands_are_no_narrower_where_looks_are_few(
    method: str, hits: int, of: int, alpha: float, low: float, high: float
):
    other = proportion_confint(hits, of, alpha=alpha, method=method)
    ours = wilson(hits, of, level=1 - alpha)

    assert other == pytest.approx((low, high), rel=1e-6)
    assert ours.high - ours.low < other[1] - other[0]


def test_nothing_seen_says_nothing():
    assert wilson(0, 0) == (0, 1)


@settings(deadline=None)
@given(st.integers(0, 200), st.integers(0, 200), st.sampled_from([0.5, 0.9, 0.99]))
def test_wilson_is_the_libraries_for_all_counts(hits: int, clean: int, level: float):
    of = hits + clean
    if of:
        oracle = proportion_confint(hits, of, alpha=1 - level, method="wilson")
        assert wilson(hits, of, level=level) == pytest.approx(oracle, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0, 1), st.integers(1, 60))
def test_the_recent_band_holds_the_rate_and_stays_wide(rate: float, looks: int):
    low, high = recent_band(rate, looks)

    assert -1e-12 <= low <= rate + 1e-12
    assert rate - 1e-12 <= high <= 1 + 1e-12
    assert recent_band(0.5, looks).high - 0.5 > 0.23


# Newcombe 1998, Table II.
@pytest.mark.parametrize(
    ("counts", "low", "high"),
    [((56, 70, 48, 80), 0.0524315, 0.333873), ((9, 10, 3, 10), 0.170523, 0.809018)],
)
def test_newcombe(counts: tuple[int, int, int, int], low: float, high: float):
    oracle = confint_proportions_2indep(*counts, method="newcomb")

    assert newcombe(*counts) == pytest.approx(oracle, rel=1e-9)
    assert newcombe(*counts) == pytest.approx((low, high), rel=1e-5)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 40)), min_size=2, max_size=2))
def test_a_difference_turned_round_is_the_same(counts: list[tuple[int, int]]):
    (hits, clean), (other_hits, other_clean) = counts
    one, other = (hits, hits + clean), (other_hits, other_hits + other_clean)

    low, high = newcombe(*one, *other)

    assert newcombe(*other, *one) == pytest.approx((-high, -low), abs=1e-12)


@pytest.mark.parametrize(
    ("counts", "answer"),
    [((9, 10, 3, 10), True), ((9, 9, 0, 30), False), ((6, 10, 5, 10), False)],
)
def test_a_difference_is_clear_with_enough_on_either_side(counts, answer: bool):
    assert is_clear_difference(*counts) == answer
