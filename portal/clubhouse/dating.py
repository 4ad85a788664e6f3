"""A day as somebody types it to find a session, whole or in part. Knows no Django."""

from __future__ import annotations

import re
from dataclasses import dataclass

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
LONG = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
ISO = re.compile(r"(?P<year>\d{4})-(?P<month>\d{1,2})(?:-(?P<day>\d{1,2}))?", re.ASCII)
# The day before the month, as one writes here.
FIGURES = re.compile(
    r"(?P<day>\d{1,2})[./] ?(?P<month>\d{1,2})(?:[./] ?(?P<year>\d{4})?)?", re.ASCII
)
WORDS = re.compile(
    r"(?:(?P<day>\d{1,2})(?:st|nd|rd|th)? )?(?P<month>[a-z]{3,9})(?: (?P<year>\d{4}))?", re.ASCII
)
LAST_DAY, LAST_MONTH = 31, 12


@dataclass(frozen=True)
class Day:
    """None stands for any."""

    month: int
    day: int | None = None
    year: int | None = None


def read(typed: str) -> Day | None:
    """`2026-11-19`, `19.11.`, `19/11/2026`, `19 Nov`, `November 2026`; None for anything else."""
    words = " ".join(typed.casefold().split())
    for pattern in (ISO, FIGURES, WORDS):
        if found := pattern.fullmatch(words):
            return _day(found["month"], found["day"], found["year"])
    return None


def _day(month: str, day: str | None, year: str | None) -> Day | None:
    found = Day(_month(month), int(day) if day else None, int(year) if year else None)
    is_day = found.day is None or 1 <= found.day <= LAST_DAY
    is_year = found.year is None or found.year >= 1
    return found if 1 <= found.month <= LAST_MONTH and is_day and is_year else None


def _month(written: str) -> int:
    """0 for no month."""
    if written.isdecimal():
        return int(written)
    for names in (MONTHS, LONG):
        if written in names:
            return names.index(written) + 1
    return 0
