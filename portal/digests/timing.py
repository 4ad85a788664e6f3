"""The weeks of the weekly mail and the instants at which it is due. Knows no Django.

A week is an ISO week, so that it has one name however the year begins. An instant is worked out
from the local date and the local clock: seven times 24 hours after the last one would be an hour
off whenever the clocks change.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Self
from zoneinfo import ZoneInfo

# A server that was away for longer sends nothing of the past: the notes go into the next mail.
TOO_LATE = timedelta(hours=36)


class NoSuchWeek(Exception):
    """The name is none of a week."""


@dataclass(frozen=True, order=True)
class Week:
    year: int
    number: int

    @classmethod
    def of(cls, day: date) -> Self:
        year, number, _weekday = day.isocalendar()
        return cls(year, number)

    @classmethod
    def named(cls, name: str) -> Self:
        """`2026-W47`. Raises NoSuchWeek."""
        found = re.fullmatch(r"(20\d{2})-W(\d{2})", name, re.ASCII)
        if not found:
            raise NoSuchWeek(f"{name!r} is no week. Write the year and the week, as in 2026-W47.")
        week = cls(int(found[1]), int(found[2]))
        try:
            week.day(1)
        except ValueError as error:
            raise NoSuchWeek(
                f"There is no week {name!r}: {error}. Most years have the weeks W01 to W52, "
                "some a W53."
            ) from error
        return week

    def __str__(self) -> str:
        return f"{self.year:04}-W{self.number:02}"

    def day(self, weekday: int) -> date:
        """Monday is 1, Sunday 7."""
        return date.fromisocalendar(self.year, self.number, weekday)


@dataclass(frozen=True)
class Hour:
    """When a club wants its mail: weekday, local clock, and where that is local."""

    weekday: int
    clock: time
    zone: ZoneInfo

    def due_at(self, week: Week) -> datetime:
        """In UTC. A clock time that is skipped that day comes as much later as the clocks went
        forward; of one that comes twice the first counts."""
        local = datetime.combine(week.day(self.weekday), self.clock, tzinfo=self.zone)
        return local.astimezone(UTC)

    def days(self, week: Week) -> tuple[date, date]:
        """The seven days of which the mail tells, ending with the one on which it comes."""
        last = week.day(self.weekday)
        return last - timedelta(days=6), last

    def due_weeks(self, at: datetime) -> list[Week]:
        """Those whose mail should have gone and may still go."""
        today = at.astimezone(self.zone).date()
        near = [Week.of(today - timedelta(days=7)), Week.of(today)]
        return [week for week in near if self.due_at(week) <= at <= self.due_at(week) + TOO_LATE]
