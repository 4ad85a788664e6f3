"""How often an item is called fixed although nothing has changed, and how soon when it has."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

import numpy as np
import pytest

from portal.items.recurrence import State, standings
from tests.items.sequences import look
from tests.soak import count

SWIMMERS = count(800, 4000)
# Four standard errors of the difference: the values are from as many swimmers as a soak has.
TOLERATED = 4


def story(chances: list[float], dice: np.random.Generator) -> list[State]:
    """Of one item: the chance that it is faulty, session by session, ten days apart."""
    faulty = dice.random(len(chances)) < chances
    found = (look(n, int(bad), int(not bad), days=10) for n, bad in enumerate(faulty))
    return [standing.state for standing in standings(found)]


def is_called_fixed(states: list[State]) -> bool:
    if State.RECURRING not in states:
        return False
    return State.FIXED in states[states.index(State.RECURRING) :]


@pytest.mark.parametrize(
    ("chance", "sessions", "share"),
    [
        (0.5, 10, 0.20),
        (0.5, 20, 0.50),
        (0.7, 10, 0.085),
        (0.7, 20, 0.24),
        (0.8, 10, 0.034),
        (0.8, 20, 0.093),
        (0.9, 10, 0.005),
        (0.9, 20, 0.015),
    ],
)
def test_false_fixes(chance: float, sessions: int, share: float):
    dice = np.random.default_rng([int(10 * chance), sessions])

    fooled = sum(is_called_fixed(story([chance] * sessions, dice)) for _ in range(SWIMMERS))

    error = sqrt(share * (1 - share) * (1 / SWIMMERS + 1 / 4000))
    assert fooled / SWIMMERS == pytest.approx(share, abs=TOLERATED * error)


def test_a_true_fix_is_seen_within_five_sessions():
    """From 0.7 to 0.05 at the twelfth session: 3.4 looks on average, nine in ten within five."""
    dice = np.random.default_rng(1)
    waits = []
    for _ in range(SWIMMERS):
        states = story([0.7] * 12 + [0.05] * 30, dice)
        if states[11] in (State.RECURRING, State.IMPROVING):
            waits.append(states.index(State.FIXED, 12) - 11)

    assert sum(waits) / len(waits) == pytest.approx(3.4, abs=0.3)
    assert sum(wait <= 5 for wait in waits) / len(waits) >= 0.88


def test_states_change_less_often_than_the_last_look():
    """In twenty sessions, where the last look alone would change 9.5 times at 0.5."""
    dice = np.random.default_rng(2)

    def changes(chance: float) -> float:
        stories = [story([chance] * 20, dice) for _ in range(SWIMMERS)]
        turns = sum(before != after for each in stories for before, after in pairwise(each))
        return turns / SWIMMERS

    assert changes(0.5) == pytest.approx(6.0, abs=0.5)
    assert changes(0.8) == pytest.approx(2.4, abs=0.5)
