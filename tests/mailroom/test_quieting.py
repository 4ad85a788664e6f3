from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.mailroom.quieting import EVENING, MORNING, not_at_night

LONDON = ZoneInfo("Europe/London")
NEW_YEAR = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "leaves"),
    [
        ("2026-11-19T18:30", "2026-11-19T18:30"),
        ("2026-11-19T19:59", "2026-11-19T19:59"),
        ("2026-11-19T20:00", "2026-11-20T08:00"),
        ("2026-11-20T03:00", "2026-11-20T08:00"),
        ("2026-11-20T07:59", "2026-11-20T08:00"),
        ("2026-11-20T08:00", "2026-11-20T08:00"),
        # Summer: local time is an hour ahead. The clocks go forward in the night to 29 March.
        ("2026-07-01T19:00", "2026-07-02T07:00"),
        ("2026-03-28T21:00", "2026-03-29T07:00"),
        ("2026-10-24T20:00", "2026-10-25T08:00"),
    ],
)
def test_it_works(at: str, leaves: str):
    moment = datetime.fromisoformat(at).replace(tzinfo=UTC)
    assert not_at_night(moment, LONDON) == datetime.fromisoformat(leaves).replace(tzinfo=UTC)


YEAR = 365 * 24 * 60


@given(
    at=st.integers(0, 2 * YEAR).map(lambda minutes: NEW_YEAR + timedelta(minutes=minutes)),
    zone=st.sampled_from(
        ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Tokyo"]
    ),
)
def test_it_never_leaves_at_night_nor_early(at: datetime, zone: str):
    leaves = not_at_night(at, ZoneInfo(zone))
    assert MORNING <= leaves.astimezone(ZoneInfo(zone)).time() < EVENING
    assert at <= leaves
    assert (leaves - at).total_seconds() <= 13 * 3600
    assert leaves == at or leaves.astimezone(ZoneInfo(zone)).time() == time(8)
