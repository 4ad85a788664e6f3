"""Sums that the portal leaves alone, since so few looks say nothing by them. Their printed values
are kept here beside the libraries', for whoever asks why a chart of them is missing."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pymannkendall  # type: ignore[import-untyped]
import pytest
from lifelines.datasets import load_leukemia  # type: ignore[import-untyped]
from lifelines.statistics import logrank_test  # type: ignore[import-untyped]
from scipy import stats  # type: ignore[import-untyped]
from statsmodels.sandbox.stats.runs import runstest_1samp  # type: ignore[import-untyped]
from statsmodels.stats.contingency_tables import mcnemar  # type: ignore[import-untyped]

# NIST 6.3.2.4.
CHART = [
    *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
    *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
]


def test_smoothed_chart():
    """NIST 6.3.2.4: the smoothed values, then the limits."""
    smoothed = pd.Series([50.0, *CHART]).ewm(alpha=0.3, adjust=False).mean()
    half = 3 * 2.0539 * sqrt(0.3 / 1.7)

    assert [smoothed[1], smoothed[2], smoothed[20]] == pytest.approx([50.6, 49.52, 51.9882])
    assert (50 + half, 50 - half) == pytest.approx((52.5884, 47.4116), rel=1e-5)


def test_chart_of_shares():
    """NIST 6.3.3.2."""
    half = 3 * sqrt(0.2313 * (1 - 0.2313) / 50)

    assert (0.2313 + half, 0.2313 - half) == pytest.approx((0.4102, 0.0524), rel=1e-3)


def test_log_rank():
    """9 relapses where 19.2505 were expected."""
    book = load_leukemia()
    drug, placebo = (book[book["Rx"] == arm] for arm in (0, 1))

    found = logrank_test(drug["t"], placebo["t"], drug["status"], placebo["status"])

    assert found.test_statistic == pytest.approx(16.7929, rel=1e-5)
    assert found.p_value == pytest.approx(4.1688e-05, rel=1e-4)


@pytest.mark.parametrize(
    ("values", "score", "variance", "z", "chance"),
    [
        ([1, 1, 1, 1, 0, 1, 0, 0, 0, 0], -23, 91.6667, -2.29783, 0.0215717),
        ([0.2, 0.4, 0.3, 0.6, 0.7, 0.7, 0.9], 18, 43.3333, 2.58249, 0.00980915),
    ],
)
def test_trend(values, score: int, variance: float, z: float, chance: float):
    """Mann and Kendall, with ties."""
    found = pymannkendall.original_test(values)

    assert found.s == score
    assert (found.var_s, found.z, found.p) == pytest.approx((variance, z, chance), rel=1e-5)


def test_runs():
    """Wald and Wolfowitz."""
    signs = np.array([int(sign) for sign in "11100110001111000101"])

    z, _chance = runstest_1samp(signs, cutoff=0.5, correction=False)

    assert z == pytest.approx(-0.882303, rel=1e-5)


def test_signs():
    """112/1024 and 1/16."""
    assert mcnemar([[0, 2], [8, 0]], exact=True).pvalue == pytest.approx(0.109375)
    assert stats.binomtest(0, 5).pvalue == pytest.approx(0.0625)
