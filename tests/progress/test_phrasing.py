from __future__ import annotations

from datetime import date, timedelta

import pytest

from portal.items.checking import Answered
from portal.items.recurrence import Look, stand
from portal.items.refreshing import Item as Key
from portal.items.refreshing import Point
from portal.kit.signs import Sign
from portal.people.models import Swimmer
from portal.progress import phrasing
from portal.progress.charting import Column, columns, sign_of
from portal.progress.gathering import History, Item, Term

GOOD, WORK, BOTH, ILLEGAL, NONE = (
    Sign.GOOD,
    Sign.WORK_ON,
    Sign.BOTH,
    Sign.NOT_LEGAL,
    Sign.NOT_LOOKED_AT,
)
CLIPS = {GOOD: (0, 1), WORK: (1, 0), BOTH: (1, 1), ILLEGAL: (1, 0)}
ALL = Answered(0, 0)


def item(*signs: Sign, last: date = date(2026, 11, 19), is_unseen: bool = False) -> Item:
    """Seen week for week."""
    days = [each.date for each in weeks(len(signs), last=last)]
    looks = [
        Look(n, days[n], *CLIPS[sign], is_not_legal=sign == ILLEGAL)
        for n, sign in enumerate(signs)
        if sign != NONE
    ]
    by_session = {look.session: look for look in looks}
    return Item(
        key=Key(Point("breast", 1), 1),
        term=Term("Heels stop", "kick", (0, 0), 1),
        looks=looks,
        standing=stand(looks),
        signs=tuple(sign_of(by_session.get(n)) for n in range(len(signs))),
        is_unseen=is_unseen,
    )


def weeks(count: int, *, last: date = date(2026, 11, 19)) -> list[Column]:
    return columns((n, last - timedelta(days=7 * (count - 1 - n))) for n in range(count))


@pytest.mark.parametrize(
    ("signs", "sentence", "short"),
    [
        (
            (WORK, NONE, GOOD, BOTH, GOOD, ILLEGAL),
            "seen in 3 of the 5 sessions where you looked",
            "3 of 5 looks",
        ),
        ((NONE, WORK), "seen in 1 of the 1 session where you looked", "1 of 1 look"),
        ((GOOD, NONE), "good in the one session where you looked", "0 of 1 look"),
        ((GOOD, GOOD, NONE), "good in all 2 sessions where you looked", "0 of 2 looks"),
    ],
)
def test_it_works(signs: tuple[Sign, ...], sentence: str, short: str):
    assert phrasing.seen(item(*signs)) == sentence
    assert phrasing.short(item(*signs)) == short


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
    assert phrasing.since(item(*signs), weeks(len(signs))) == sentence


def test_another_year_is_named():
    last = date(2027, 1, 4)
    said = phrasing.since(item(WORK, NONE, last=last), weeks(2, last=last))

    assert said == "not looked at since 28 December 2026"


def test_every_sign_has_its_word():
    assert set(phrasing.WORDS) == set(Sign)
    assert phrasing.signs([NONE, ILLEGAL]) == "oldest first: not looked at, not legal"


def test_what_looks_not_legal_stands_apart():
    assert phrasing.group(item(ILLEGAL, GOOD)) == "Race-legal"
    assert phrasing.group(item(WORK)) == "Kick"
    assert phrasing.group(item(ILLEGAL, GOOD, GOOD, GOOD, GOOD, GOOD)) == "Kick", "looks sorted"


def test_all_that_is_known_of_one():
    assert phrasing.sentences(item(WORK, WORK, GOOD, is_unseen=True)) == [
        "Seen in 2 of the 3 sessions where you looked.",
        "Clean the last time you looked.",
        "If nothing had changed, 1 clean look would still happen about 1 time in 6.",
        "3 clean in a row, over 14 days or more.",
        "Not looked at for more than 42 days, or in the last 4 sessions.",
    ]
    assert phrasing.sentences(item(GOOD)) == [
        "Good in the one session where you looked.",
        "Clean the last time you looked.",
    ]


@pytest.mark.parametrize(
    ("looks", "answered", "sentence"),
    [
        (4, ALL, "4 looks are too few for a band: it takes 5."),
        (5, ALL, "Lately about 10 in 10, roughly 6 to 10;"),
        (5, Answered(7, 10), "Lately about 10 in 10"),
        (5, Answered(6, 10), "No rate yet: of 10 open items that were asked about"),
    ],
)
def test_a_rate_waits_for_looks_and_answers(looks: int, answered: Answered, sentence: str):
    assert phrasing.rate(item(*[WORK] * looks), answered).startswith(sentence)


@pytest.mark.parametrize(
    ("count", "illegal", "sentence"),
    [
        (0, 0, "nothing open"),
        (1, 0, "1 item is open"),
        (2, 0, "2 items are open"),
        (1, 1, "1 item is open: it looks not legal"),
        (2, 2, "2 items are open: they look not legal"),
        (2, 1, "2 items are open, 1 looks not legal"),
        (3, 2, "3 items are open, 2 look not legal"),
    ],
)
def test_how_much_is_open(count: int, illegal: int, sentence: str):
    assert phrasing.still_open(count, illegal) == sentence


def test_what_is_open_of_some_items():
    found = [item(ILLEGAL), item(WORK, GOOD), item(GOOD), item(WORK, *[GOOD] * 5)]

    assert phrasing.open_of(found) == "2 items are open, 1 looks not legal"


def test_a_dozen_by_name():
    found = [f"N{number}" for number in range(14)]

    assert phrasing.names(found[:12]) == ", ".join(found[:12])
    assert phrasing.names(found).endswith("N11 and 2 more")


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
    found = [
        (Swimmer(first_name=f"Swimmer {n}", last_name="Vos"), bool(count))
        for n, count in enumerate(sessions)
    ]

    assert phrasing.looked_at(found) == sentence
