from __future__ import annotations

from datetime import date, timedelta

import pytest

from portal.items.recurrence import Said, Standing, stand
from portal.progress.tallying import bars, cohort, doubles, got_clean, pairs
from tests.items.sequences import START, looks

DAY = date(2026, 11, 19)


def squad(*signs: str, item: str = "elbow") -> dict[int, dict[str, Standing]]:
    """Swimmers by number, each with looks at one item; an empty one was never looked at."""
    return {n: {item: stand(looks(each))} if each else {} for n, each in enumerate(signs)}


def test_it_works():
    [bar] = bars(squad("11", "1", "110001", "1100", "11000", "0", "", ""))

    assert bar.active == [0, 1, 2]
    assert bar.clean == [3, 4, 5]
    assert (bar.looked_at, bar.unseen, bar.total) == (6, 2, 8)
    assert bar.weight == 2 + 1 + 3 + 1


def test_what_nobody_has_is_not_practised():
    assert not bars(squad("0", "11000"))


def test_what_asks_for_most_comes_first():
    found = bars({0: {"new": stand(looks("1")), "recurring": stand(looks("11"))}})

    assert [bar.item for bar in found] == ["recurring", "new"]


def test_a_cohort_holds_those_of_both_times():
    seen = {n: looks(signs) for n, signs in enumerate(["1110", "1.10", "1...", "..10", "11.1"])}
    middle = START + timedelta(days=14)

    assert cohort(seen, starts=START, middle=middle) == (3, 3, 1)
    assert cohort({0: seen[0]}, starts=START, middle=middle) is None, "too few"


def test_pairs_are_counted_over_those_looked_at_for_both():
    both = {n: {"a": stand(looks("1")), "b": stand(looks("1"))} for n in range(5)}
    one = {5: {"a": stand(looks("1")), "b": stand(looks("0"))}}
    unseen = {6: {"a": stand(looks("1"))}}

    [pair] = pairs({**both, **one, **unseen})

    assert (pair.first, pair.second) == ("a", "b")
    assert pair.table == (5, 1, 0, 0)
    assert not pairs(both | {0: {}}), "four are too few"


@pytest.mark.parametrize(
    ("signs", "clean"),
    [
        ("1100", True),
        ("111001", True),
        ("110101", False),
        ("11010", None),
        ("1111100", False),
        ("11", None),
        ("11.0.0", True),
    ],
)
def test_clean_within_four_looks(signs: str, clean: bool | None):
    assert got_clean(looks(signs), since=(START + timedelta(days=7), 1)) is clean


def test_what_two_coaches_said_of_one_clip():
    said = [
        Said(1, DAY, 7, 1, is_faulty=True),
        Said(1, DAY, 7, 2, is_faulty=False, is_overruled=True),
        Said(1, DAY, 8, 1, is_faulty=True),
        Said(1, DAY, None, 2, is_faulty=True),
        Said(1, DAY, 9, 2, is_faulty=True),
        Said(1, DAY, 9, 1, is_faulty=False),
        Said(1, DAY, 9, 1, is_faulty=True),
    ]

    assert doubles([("elbow", said)]) == {(1, 2): [(True, False), (True, True)]}
