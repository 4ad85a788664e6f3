"""Smooth curves through the keys of a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Numbers = NDArray[np.float64]
Curve = Callable[[ArrayLike], Numbers]


def through(places: ArrayLike, values: ArrayLike) -> Curve:
    """A cubic through all keys that keeps their shape: it never overshoots, so that a joint
    which is straight at two keys is straight between them. Outside, the nearest key holds."""
    xs, ys = np.asarray(places, float), np.asarray(values, float)
    steps = np.diff(xs)
    slopes = _slopes(steps, np.diff(ys) / steps)

    def at(place: ArrayLike) -> Numbers:
        x = np.clip(place, xs[0], xs[-1])
        i = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(xs) - 2)
        t = (x - xs[i]) / steps[i]
        curve: Numbers = (
            (1 + 2 * t) * (1 - t) ** 2 * ys[i]
            + t * (1 - t) ** 2 * steps[i] * slopes[i]
            + t * t * (3 - 2 * t) * ys[i + 1]
            + t * t * (t - 1) * steps[i] * slopes[i + 1]
        )
        return curve

    return at


def _slopes(steps: Numbers, rises: Numbers) -> Numbers:
    """Weighted harmonic means of the neighbours' slopes; level where the direction changes."""
    slopes = np.zeros(len(steps) + 1)
    left, right = 2 * steps[1:] + steps[:-1], steps[1:] + 2 * steps[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (left + right) / (left / rises[:-1] + right / rises[1:])
    slopes[1:-1] = np.where(rises[:-1] * rises[1:] > 0, mean, 0)
    slopes[0], slopes[-1] = rises[0], rises[-1]
    return slopes


def around(places: ArrayLike, values: ArrayLike, *, period: float) -> Curve:
    """The same, going round and round."""
    xs, ys = np.asarray(places, float), np.asarray(values, float)
    curve = through(np.r_[xs - period, xs, xs + period], np.r_[ys, ys, ys])
    return lambda place: curve(np.mod(place, period))


def table(places: Sequence[float], values: Sequence[float], at: ArrayLike) -> Numbers:
    """Straight lines through the keys, read at `at`."""
    return np.asarray(np.interp(np.asarray(at, float), places, values))


def steadied(values: Numbers, *, sigma: float) -> Numbers:
    """Blurred over `sigma` values, as if both ends went on in a straight line."""
    reach = int(sigma * 3)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    before = values[0] + (values[1] - values[0]) * np.arange(-reach, 0)
    after = values[-1] + (values[-1] - values[-2]) * np.arange(1, reach + 1)
    blurred: Numbers = np.convolve(
        np.r_[before, values, after], weights / weights.sum(), mode="valid"
    )
    return blurred


def eased(share: float) -> float:
    """From 0 to 1, level at both ends."""
    t = min(max(share, 0.0), 1.0)
    return t * t * (3 - 2 * t)
