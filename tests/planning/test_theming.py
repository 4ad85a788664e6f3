from __future__ import annotations

import random
from itertools import combinations

from portal.planning.theming import choose, worth


def test_it_works():
    wants = [{"heels": 4}, {"heels": 2, "breath": 1}, {"breath": 3}, {"line": 1}, {}]
    assert choose(wants, themes=["breath", "heels", "line"], lanes=2) == ["breath", "heels"]
    assert worth(wants, ["breath", "heels"]) == 4 + 2 + 3


def test_a_theme_that_adds_nothing_takes_no_lane():
    assert choose([{"heels": 2}], themes=["heels", "line"], lanes=6) == ["heels"]


def test_held_themes_stay_whatever_they_are_worth():
    wants = [{"heels": 4}, {"breath": 3}]
    chosen = choose(wants, themes=["breath", "heels", "line"], lanes=2, held=["line"])
    assert chosen == ["line", "heels"]


def test_the_catalogue_decides_between_equals():
    wants = [{"a": 2, "b": 2}]
    assert choose(wants, themes=["b", "a"], lanes=1) == ["b"]
    assert choose(wants, themes=["a", "b"], lanes=1) == ["a"]


def squad(seed: int) -> tuple[list[dict[int, int]], list[int], int]:
    """8 to 24 swimmers, 6 to 12 themes, 2 to 5 lanes."""
    rolls = random.Random(seed)  # noqa: S311 - which squad
    themes = list(range(rolls.randint(6, 12)))
    often = rolls.choice([1, 2, 3, 5])
    wants = [
        {theme: rolls.choice([1, 1, 2, 2, 3, 4]) for theme in rolls.sample(themes, often)}
        for _ in range(rolls.randint(8, 24))
    ]
    return wants, themes, rolls.randint(2, 5)


def test_two_hundred_squads_come_near_the_best():
    shares = []
    for seed in range(200):
        wants, themes, lanes = squad(seed)
        best = max(worth(wants, each) for each in combinations(themes, lanes))
        shares.append(worth(wants, choose(wants, themes=themes, lanes=lanes)) / best)
    assert min(shares) >= 0.95
    assert sum(shares) / len(shares) >= 0.99
