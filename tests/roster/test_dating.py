from __future__ import annotations

import contextlib
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.roster.dating import NoDate, Order, TwoDates, order_of, read

TODAY = date(2026, 11, 25)
days = st.dates(date(1927, 1, 1), date(2026, 11, 24))


def test_it_works():
    for words in ("2012-05-03", "3.5.2012", "03.05.2012", "3. 5. 2012", "3.5.12"):
        assert read(words, today=TODAY) == date(2012, 5, 3)


@given(days)
def test_every_day_is_read_back_in_each_spelling(day: date):
    first, month = Order.DAY_FIRST, Order.MONTH_FIRST
    assert read(day.isoformat(), today=TODAY) == day
    assert read(f"{day.day}.{day.month}.{day.year}", today=TODAY) == day
    assert read(f"{day.day}/{day.month}/{day.year}", today=TODAY, order=first) == day
    assert read(f"{day.month}/{day.day}/{day.year}", today=TODAY, order=month) == day


@given(days)
def test_slashes_are_read_only_in_the_one_way_there_is(day: date):
    words = f"{day.day}/{day.month}/{day.year}"
    if day.day > 12 or day.day == day.month:
        assert read(words, today=TODAY) == day
    else:
        with pytest.raises(TwoDates):
            read(words, today=TODAY)


@pytest.mark.parametrize("words", ["", "soon", "31.2.2012", "2012-13-01", "13/13/2012", "3.5"])
def test_no_date(words: str):
    with pytest.raises(NoDate):
        read(words, today=TODAY)


def test_a_short_year_is_the_newest_that_is_not_to_come():
    assert read("1.2.26", today=TODAY).year == 2026
    assert read("1.2.27", today=TODAY).year == 1927


def test_one_day_after_the_twelfth_settles_the_order():
    assert order_of(["3/5/2012", "25/5/2012"]) == Order.DAY_FIRST
    assert order_of(["3/5/2012", "5/25/2012"]) == Order.MONTH_FIRST
    assert order_of(["3/5/2012"]) is None
    assert order_of(["25/5/2012", "5/25/2012"]) is None


@given(st.text(), st.sampled_from([None, *Order]))
def test_nothing_breaks_it(words: str, order: Order | None):
    with contextlib.suppress(NoDate, TwoDates):
        assert read(words, today=TODAY, order=order) <= TODAY + timedelta(days=3_000_000)
