from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.items.recurrence import Look
from portal.kit.signs import Sign
from portal.progress.charting import (
    FAULTY,
    Box,
    Column,
    Row,
    Seen,
    columns,
    curve,
    rates,
    rows,
    sign_of,
)
from tests.items.sequences import looks
from tests.soak import count

START = date(2026, 9, 1)


def weekly(sessions: int) -> list[Column]:
    return columns((n, START + timedelta(days=7 * n)) for n in range(sessions))


def look(session: int, sign: Sign, *, fault: str = "low", checkpoint: str = "heels") -> Seen:
    return Seen(session, "breast", checkpoint, "" if sign == Sign.GOOD else fault, sign)


def test_it_works():
    seen = [look(0, Sign.WORK_ON), look(1, Sign.GOOD), look(3, Sign.WORK_ON)]

    [row] = rows(seen, weekly(4))

    assert row.signs == (Sign.WORK_ON, Sign.GOOD, Sign.NOT_LOOKED_AT, Sign.WORK_ON)


def test_good_and_fault_in_one_session_are_both_seen():
    [row] = rows([look(0, Sign.WORK_ON), look(0, Sign.GOOD)], weekly(1))

    assert row.signs == (Sign.BOTH,)


def test_not_legal_is_never_softened():
    seen = [look(0, Sign.NOT_LEGAL), look(0, Sign.GOOD), look(0, Sign.WORK_ON)]

    [row] = rows(seen, weekly(1))

    assert row.signs == (Sign.NOT_LEGAL,)


def test_praise_is_clean_for_every_fault_of_its_checkpoint_and_no_other():
    seen = [
        look(0, Sign.WORK_ON, fault="low"),
        look(0, Sign.WORK_ON, fault="wide"),
        look(0, Sign.WORK_ON, fault="late", checkpoint="breath"),
        look(1, Sign.GOOD),
    ]

    by_fault = {row.fault: row.signs[1] for row in rows(seen, weekly(2))}

    assert by_fault == {"low": Sign.GOOD, "wide": Sign.GOOD, "late": Sign.NOT_LOOKED_AT}


def test_one_fault_says_nothing_of_another():
    seen = [look(0, Sign.WORK_ON, fault="low"), look(1, Sign.WORK_ON, fault="wide")]

    by_fault = {row.fault: row.signs for row in rows(seen, weekly(2))}

    assert by_fault["low"] == (Sign.WORK_ON, Sign.NOT_LOOKED_AT)


def test_only_praised_has_a_row_of_its_own():
    [row] = rows([look(0, Sign.GOOD)], weekly(1))

    assert row.fault == ""


def test_praise_that_names_a_fault_is_of_that_one_only():
    seen = [
        look(0, Sign.WORK_ON, fault="low"),
        look(0, Sign.WORK_ON, fault="wide"),
        Seen(1, "breast", "heels", "low", Sign.GOOD),
        Seen(0, "breast", "heels", "low", Sign.GOOD),
    ]

    by_fault = {row.fault: row.signs for row in rows(seen, weekly(2))}

    assert by_fault == {
        "low": (Sign.BOTH, Sign.GOOD),
        "wide": (Sign.WORK_ON, Sign.NOT_LOOKED_AT),
    }


def test_clean_looks_are_counted_and_a_pause_is_none():
    clean = [look(n, Sign.GOOD) for n in (1, 2, 5)]

    assert rows([look(0, Sign.WORK_ON), *clean], weekly(6))[0].clean_run == 3
    assert rows([*clean, look(4, Sign.WORK_ON)], weekly(6))[0].clean_run == 1


@pytest.mark.parametrize(
    ("found", "sign"),
    [
        (Look(1, START, 0, 1), Sign.GOOD),
        (Look(1, START, 2, 0), Sign.WORK_ON),
        (Look(1, START, 1, 1), Sign.BOTH),
        (Look(1, START, 1, 1, is_not_legal=True), Sign.NOT_LEGAL),
        (Look(1, START, 0, 0, disputed=1), Sign.NOT_LOOKED_AT),
        (None, Sign.NOT_LOOKED_AT),
    ],
)
def test_the_sign_of_a_look(found: Look | None, sign: Sign):
    assert sign_of(found) == sign


def test_rates_begin_with_the_fifth_look():
    assert rates(looks("1010")) == []

    found = rates(looks("1.01010"))

    assert [rate.session for rate in found] == [0, 2, 3, 4, 5, 6]
    assert [rate.band is not None for rate in found] == [False] * 4 + [True] * 2
    # pandas ewm(halflife=3, adjust=True) of 1,1,0,1,0,0; worked out beside it in tests/items too.
    assert rates(looks("110100"))[-1].share == pytest.approx(0.369081, abs=1e-6)
    band = rates(looks("110100"))[-1].band
    assert band is not None
    assert band.low < 0.369 < band.high


def test_a_curve_lies_in_its_box():
    box = Box(10, 5, 110, 25)
    found = rates(looks("111100"))

    drawn = curve(found, {session: place for place, session in enumerate(range(6))}, box)

    assert drawn is not None
    assert drawn.dots[0] == (10.0, 5.0, 0), "always there is the top"
    assert [x for x, _y, _session in drawn.dots] == [10, 30, 50, 70, 90, 110]
    corners = [tuple(map(float, each.split(","))) for each in drawn.band.split()]
    assert len(corners) == 4
    assert all(10 <= x <= 110 and 5 <= y <= 25 for x, y in corners)


def test_looks_before_the_columns_are_not_drawn():
    found = rates(looks("111100"))

    drawn = curve(found, {4: 0, 5: 1}, Box(0, 0, 10, 10))

    assert drawn is not None
    assert [session for _x, _y, session in drawn.dots] == [4, 5]
    assert curve(found, {9: 0}, Box(0, 0, 10, 10)) is None


def test_a_gap_is_more_than_28_days():
    days = [START, START + timedelta(days=28), START + timedelta(days=57)]

    assert [c.after_gap for c in columns(enumerate(days))] == [False, False, True]


LOOKS = st.lists(
    st.builds(
        look,
        st.integers(0, 5),
        st.sampled_from([Sign.GOOD, Sign.WORK_ON, Sign.NOT_LEGAL]),
        fault=st.sampled_from(["low", "wide"]),
        checkpoint=st.sampled_from(["heels", "line"]),
    ),
    max_size=25,
)


@settings(max_examples=count(100, 5000))
@given(LOOKS)
def test_against_a_plain_count(seen: list[Seen]):
    for row in rows(seen, weekly(6)):
        mine = [s for s in seen if s.checkpoint == row.checkpoint and s.fault in ("", row.fault)]
        looked = [sign for sign in row.signs if sign != Sign.NOT_LOOKED_AT]
        assert len(looked) == len({s.session for s in mine})
        assert sum(sign in FAULTY for sign in looked) == len({s.session for s in mine if s.fault})


@given(LOOKS, st.randoms())
def test_the_order_of_writing_does_not_matter(seen: list[Seen], random):
    shuffled = random.sample(seen, len(seen))

    def plain(found: list[Row]) -> list[Row]:
        return sorted(found, key=repr)

    assert plain(rows(seen, weekly(6))) == plain(rows(shuffled, weekly(6)))
