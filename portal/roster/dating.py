"""Days as lists write them. Knows no Django.

`2012-05-03` and `3.5.2012` can be read in one way; `3/5/2012` is May in one country and March in
another. A list is written by one hand, so one day after the twelfth settles the order for all of
it; without one, or with two that disagree, somebody has to be asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from enum import StrEnum

ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
DOTTED = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4}|\d{2})", re.ASCII)
SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})", re.ASCII)
MONTHS = 12


class Order(StrEnum):
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


class NoDate(Exception):
    def __init__(self, words: str) -> None:
        super().__init__(f"{words!r} is no date. Write 2012-05-03 or 3.5.2012.")


class TwoDates(Exception):
    def __init__(self, words: str) -> None:
        super().__init__(f"{words!r} can be two dates. Say whether the day or the month is first.")


def read(words: str, *, today: date, order: Order | None = None) -> date:
    """Raises NoDate or TwoDates. A year of two digits is the newest that is not to come."""
    if found := ISO.fullmatch(words):
        year, month, day = map(int, found.groups())
        return _day(words, year, month, day)
    if found := DOTTED.fullmatch(words):
        return _day(words, _year(found[3], today), int(found[2]), int(found[1]))
    if found := SLASHED.fullmatch(words):
        first, second, year = int(found[1]), int(found[2]), _year(found[3], today)
        if order is None and first != second and max(first, second) <= MONTHS:
            raise TwoDates(words)
        is_day_first = first > MONTHS or (second <= MONTHS and order != Order.MONTH_FIRST)
        day, month = (first, second) if is_day_first else (second, first)
        return _day(words, year, month, day)
    raise NoDate(words)


def order_of(column: Iterable[str]) -> Order | None:
    """What the days after the twelfth say together; None if they say nothing, or both."""
    said = set()
    for words in column:
        if found := SLASHED.fullmatch(words):
            said |= {Order.DAY_FIRST} if int(found[1]) > MONTHS else set()
            said |= {Order.MONTH_FIRST} if int(found[2]) > MONTHS else set()
    return said.pop() if len(said) == 1 else None


def _year(digits: str, today: date) -> int:
    if len(digits) > 2:
        return int(digits)
    century = today.year - today.year % 100
    year = century + int(digits)
    return year if year <= today.year else year - 100


def _day(words: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as error:
        raise NoDate(words) from error
