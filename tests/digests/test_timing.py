"""Weeks and due instants, where the clocks change and where the year does."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.digests.timing import TOO_LATE, Hour, NoSuchWeek, Week
from tests.soak import count

LONDON, NEW_YORK = "Europe/London", "America/New_York"
ZONES = [
    LONDON,
    NEW_YORK,
    "Pacific/Auckland",
    "Pacific/Kiritimati",
    "Pacific/Pago_Pago",
    "Australia/Lord_Howe",
    "America/Santiago",
    "Africa/Cairo",
    "UTC",
]


def hour(zone: str = LONDON, weekday: int = 7, clock: time = time(18)) -> Hour:
    return Hour(weekday, clock, ZoneInfo(zone))


def due(zone: str, week: str, **when) -> str:
    return f"{hour(zone, **when).due_at(Week.named(week)):%Y-%m-%d %H:%M}"


def test_it_works():
    week = Week.of(date(2026, 11, 19))
    assert str(week) == "2026-W47"
    assert hour().due_at(week) == datetime(2026, 11, 22, 18, tzinfo=UTC)
    assert hour().days(week) == (date(2026, 11, 16), date(2026, 11, 22))


@pytest.mark.parametrize(
    ("zone", "week", "at"),
    [
        (LONDON, "2026-W12", "2026-03-22 18:00"),
        (LONDON, "2026-W13", "2026-03-29 17:00"),
        (LONDON, "2026-W42", "2026-10-18 17:00"),
        (LONDON, "2026-W43", "2026-10-25 18:00"),
        (LONDON, "2026-W44", "2026-11-01 18:00"),
        (NEW_YORK, "2026-W09", "2026-03-01 23:00"),
        (NEW_YORK, "2026-W10", "2026-03-08 22:00"),
        (NEW_YORK, "2026-W43", "2026-10-25 22:00"),
        (NEW_YORK, "2026-W44", "2026-11-01 23:00"),
        ("Australia/Lord_Howe", "2026-W14", "2026-04-05 07:30"),
        ("Pacific/Auckland", "2026-W47", "2026-11-22 05:00"),
    ],
)
def test_six_in_the_evening_stays_six_when_the_clocks_change(zone: str, week: str, at: str):
    assert due(zone, week) == at


@pytest.mark.parametrize(
    ("zone", "week", "clock", "at"),
    [
        (LONDON, "2026-W13", time(1, 30), "2026-03-29 01:30"),  # 02:30 in summer time
        (NEW_YORK, "2026-W10", time(2, 30), "2026-03-08 07:30"),  # 03:30 in summer time
        ("America/Santiago", "2026-W36", time(0), "2026-09-06 04:00"),  # 01:00 there
    ],
)
def test_a_time_that_does_not_exist_comes_as_much_later(zone: str, week: str, clock: time, at: str):
    assert due(zone, week, clock=clock) == at


@pytest.mark.parametrize(
    ("zone", "week", "clock", "at"),
    [
        (LONDON, "2026-W43", time(1, 30), "2026-10-25 00:30"),
        (NEW_YORK, "2026-W44", time(1, 30), "2026-11-01 05:30"),
    ],
)
def test_of_a_time_that_comes_twice_the_first_counts(zone: str, week: str, clock: time, at: str):
    assert due(zone, week, clock=clock) == at


@pytest.mark.parametrize(
    ("day", "name"),
    [
        (date(2026, 1, 1), "2026-W01"),
        (date(2025, 12, 29), "2026-W01"),
        (date(2026, 12, 31), "2026-W53"),
        (date(2027, 1, 3), "2026-W53"),
        (date(2027, 1, 4), "2027-W01"),
    ],
)
def test_a_week_keeps_its_name_over_the_new_year(day: date, name: str):
    assert str(Week.of(day)) == name
    assert Week.named(name) == Week.of(day)


@pytest.mark.parametrize(
    "name", ["2026-W60", "2026-W54", "2025-W53", "2026-W00", "2026-47", "1999-W01", "", "2026-W4７"]
)
def test_no_week_is_said_to_be_none(name: str):
    with pytest.raises(NoSuchWeek, match=repr(name)):
        Week.named(name)


def test_monday_morning_tells_of_the_days_before_it():
    first, last = hour(weekday=1).days(Week.named("2026-W47"))
    assert (first, last) == (date(2026, 11, 10), date(2026, 11, 16))


def test_it_is_due_for_a_day_and_a_half():
    due_at = datetime(2026, 11, 22, 18, tzinfo=UTC)
    second = timedelta(seconds=1)
    assert hour().due_weeks(due_at - second) == []
    assert hour().due_weeks(due_at) == [Week.named("2026-W47")]
    assert hour().due_weeks(due_at + TOO_LATE) == [Week.named("2026-W47")]
    assert hour().due_weeks(due_at + TOO_LATE + second) == []


hours = st.builds(
    Hour,
    weekday=st.integers(1, 7),
    clock=st.times().map(lambda clock: clock.replace(microsecond=0)),
    zone=st.sampled_from(ZONES).map(ZoneInfo),
)
weeks = st.dates(date(2001, 1, 1), date(2060, 1, 1)).map(Week.of)


@settings(max_examples=count(200, 5000))
@given(hours, weeks)
def test_local_date_and_clock_are_the_clubs(club: Hour, week: Week):
    """Forward by at most an hour where the time does not exist."""
    local = club.due_at(week).astimezone(club.zone)
    wished = datetime.combine(week.day(club.weekday), club.clock)
    shift = local.replace(tzinfo=None) - wished
    assert timedelta(0) <= shift <= timedelta(hours=1)
    assert shift == timedelta(0) or _is_gap(wished, club.zone)


def _is_gap(wished: datetime, zone: ZoneInfo) -> bool:
    """Back from UTC it is another time."""
    there = wished.replace(tzinfo=zone)
    return there.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wished


@settings(max_examples=count(200, 5000))
@given(hours, weeks, st.timedeltas(timedelta(0), TOO_LATE))
def test_a_planner_that_looks_in_time_finds_the_week_and_only_that(
    club: Hour, week: Week, later: timedelta
):
    assert club.due_weeks(club.due_at(week) + later) == [week]


@settings(max_examples=count(200, 5000))
@given(hours, weeks)
def test_weeks_follow_each_other_by_seven_days_give_or_take_an_hour(club: Hour, week: Week):
    following = Week.of(week.day(1) + timedelta(days=7))
    assert abs(club.due_at(following) - club.due_at(week) - timedelta(days=7)) <= timedelta(hours=2)


@given(weeks)
def test_a_name_is_read_back(week: Week):
    assert Week.named(str(week)) == week
