from __future__ import annotations

from datetime import date, timedelta

import pytest

from portal.kit.signs import Sign
from portal.people.models import Swimmer
from portal.progress import phrasing
from portal.progress.charting import Column, Need, Row, columns
from portal.progress.gathering import History, Item

GOOD, WORK, BOTH, ILLEGAL, NONE = (
    Sign.GOOD,
    Sign.WORK_ON,
    Sign.BOTH,
    Sign.NOT_LEGAL,
    Sign.NOT_LOOKED_AT,
)


def row(*signs: Sign, fault: str = "low") -> Row:
    return Row("breast", "heels", fault, signs)


def weeks(count: int, *, last: date = date(2026, 11, 19)) -> list[Column]:
    return columns((n, last - timedelta(days=7 * (count - 1 - n))) for n in range(count))


@pytest.mark.parametrize(
    ("signs", "sentence"),
    [
        ((WORK, NONE, GOOD, BOTH, GOOD, ILLEGAL), "seen in 3 of the 5 sessions where you looked"),
        ((NONE, WORK), "seen in the one session where you looked"),
        ((GOOD, NONE), "good in the one session where you looked"),
        ((GOOD, GOOD, NONE), "good in all 2 sessions where you looked"),
    ],
)
def test_it_works(signs: tuple[Sign, ...], sentence: str):
    assert phrasing.seen(row(*signs)) == sentence


@pytest.mark.parametrize(
    ("signs", "sentence"),
    [
        ((WORK, WORK), ""),
        ((WORK, GOOD), "clean the last time you looked"),
        ((WORK, GOOD, NONE, GOOD), "clean the last 2 times you looked"),
        ((WORK, NONE), "not looked at since 12 November"),
        ((WORK, GOOD, NONE), "clean the last time you looked, not looked at since 12 November"),
        ((GOOD, GOOD), ""),
    ],
)
def test_what_has_become_of_it(signs: tuple[Sign, ...], sentence: str):
    assert phrasing.since(row(*signs), weeks(len(signs))) == sentence


def test_another_year_is_named():
    said = phrasing.since(row(WORK, NONE), weeks(2, last=date(2027, 1, 4)))

    assert said == "not looked at since 28 December 2026"


def test_every_sign_has_its_word():
    assert set(phrasing.WORDS) == set(Sign)
    assert phrasing.signs([NONE, ILLEGAL]) == "oldest first: not looked at, not legal"


def test_every_need_has_its_heading():
    assert len({phrasing.heading(need) for need in Need}) == len(Need)


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ([], "nothing open"),
        ([row(GOOD, fault="")], "nothing open"),
        ([row(WORK)], "1 item is open"),
        ([row(WORK), row(WORK, GOOD)], "2 items are open"),
        ([row(ILLEGAL)], "1 item is open: it looks not legal"),
        ([row(ILLEGAL), row(ILLEGAL)], "2 items are open: they look not legal"),
        ([row(ILLEGAL), row(WORK)], "2 items are open, 1 looks not legal"),
        ([row(ILLEGAL), row(ILLEGAL), row(WORK)], "3 items are open, 2 look not legal"),
        ([row(ILLEGAL, GOOD, GOOD, GOOD)], "nothing open"),
    ],
)
def test_how_much_is_open(rows: list[Row], sentence: str):
    assert phrasing.still_open([Item(each, "name") for each in rows]) == sentence


def history(name: str, sessions: int) -> History:
    swimmer = Swimmer(first_name=name, last_name="Vos")
    return History(swimmer=swimmer, reviews=[], columns=weeks(sessions), items=[])


def test_how_often_somebody_was_looked_at():
    assert phrasing.sessions(history("Ola", 0)) == (
        "No review of Ola is out yet: nobody has looked."
    )
    assert phrasing.sessions(history("Ola", 1)) == (
        "One session with published notes, on 19 November 2026."
    )
    assert phrasing.sessions(history("Ola", 3)) == (
        "3 sessions with published notes since 5 November 2026."
    )


@pytest.mark.parametrize(
    ("sessions", "sentence"),
    [
        ([], "Nobody swims in this squad today."),
        ([1], "The one swimmer has a published review."),
        ([1, 4], "All 2 swimmers have a published review."),
        ([0, 1], "1 of 2 swimmers has a published review; nobody has looked at Swimmer 0."),
        (
            [0, 0, 1, 1],
            "2 of 4 swimmers have a published review; nobody has looked at Swimmer 0, Swimmer 1.",
        ),
    ],
)
def test_how_much_of_a_squad_was_looked_at(sessions: list[int], sentence: str):
    found = [history(f"Swimmer {n}", count) for n, count in enumerate(sessions)]

    assert phrasing.looked_at(found) == sentence
