from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]
from statsmodels.stats.inter_rater import cohens_kappa  # type: ignore[import-untyped]
from statsmodels.stats.multitest import multipletests  # type: ignore[import-untyped]

from portal.items.pairing import Table, adjusted, fisher, kappa, together

# Benjamini and Hochberg 1995, section 4.1.
CHANCES = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262),
    *(0.5719, 0.6528, 0.7590, 1.0),
]


# The first is Fisher's tea (1935).
@pytest.mark.parametrize(
    ("cells", "value"),
    [
        ((3, 1, 1, 3), 0.485714),
        ((1, 9, 11, 3), 0.00275946),
        ((8, 2, 1, 5), 0.034965),
        ((7, 2, 3, 28), 0.000195876),
        # His perfect cup is 1/70 on one side, and this table mirrors itself.
        ((4, 0, 0, 4), 2 / 70),
    ],
)
def test_fisher(cells: tuple[int, int, int, int], value: float):
    oracle = stats.fisher_exact(np.reshape(cells, (2, 2))).pvalue

    assert fisher(Table(*cells)) == pytest.approx(oracle, rel=1e-9)
    assert fisher(Table(*cells)) == pytest.approx(value, rel=1e-5)


def test_fisher_of_the_tea_is_twice_its_one_side():
    assert fisher(Table(3, 1, 1, 3)) == pytest.approx(2 * 17 / 70)


@settings(deadline=None)
@given(st.tuples(*[st.integers(0, 15)] * 4))
def test_fisher_is_the_libraries_for_all_tables(cells: tuple[int, int, int, int]):
    oracle = stats.fisher_exact(np.reshape(cells, (2, 2))).pvalue

    assert fisher(Table(*cells)) == pytest.approx(oracle, rel=1e-6)


def test_adjusted():
    """Benjamini and Hochberg 1995: four are rejected at 0.05, where Bonferroni rejects three."""
    found = adjusted(CHANCES)

    assert found == pytest.approx(multipletests(CHANCES, method="fdr_bh")[1], rel=1e-9)
    picked = [found[0], found[3], found[4], found[8]]
    assert picked == pytest.approx([0.0015, 0.035625, 0.0603, 0.0765], rel=1e-5)
    assert sum(each <= 0.05 for each in found) == 4
    assert sum(each * len(CHANCES) <= 0.05 for each in CHANCES) == 3


@settings(deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=30))
def test_adjusted_is_the_libraries_for_all_lists(chances: list[float]):
    oracle = multipletests(chances, method="fdr_bh")[1]

    assert adjusted(chances) == pytest.approx(list(oracle), abs=1e-12)


def test_only_pairs_of_enough_swimmers_are_named():
    strong, weak = Table(30, 5, 5, 60), Table(10, 15, 15, 20)
    few, rare = Table(8, 0, 0, 8), Table(4, 0, 0, 60)

    assert together([weak, few, strong, rare]) == [strong]


def test_lift():
    assert Table(10, 10, 10, 10).lift == 1
    assert Table(10, 0, 0, 10).lift == 2
    assert Table(0, 0, 3, 10).lift == 0


def test_kappa():
    pairs = [*[(True, True)] * 20, *[(True, False)] * 5, *[(False, True)] * 10]
    pairs += [(False, False)] * 15
    oracle = cohens_kappa([[20, 5], [10, 15]]).kappa

    assert kappa(pairs) == pytest.approx(oracle)
    assert kappa(pairs) == pytest.approx(0.4)


def test_kappa_of_too_few_or_of_one_answer_only_is_none():
    assert kappa([(True, False)] * 29) is None
    assert kappa([(True, True)] * 40) is None
