"""The hours in which a child's own mail waits. Knows no Django."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

EVENING, MORNING = time(20), time(8)


def not_at_night(at: datetime, zone: ZoneInfo) -> datetime:
    """The same moment, or eight in the morning local time if it lies between eight in the
    evening and eight in the morning. In UTC."""
    local = at.astimezone(zone)
    if MORNING <= local.time() < EVENING:
        return at
    day = local.date() + timedelta(days=local.time() >= EVENING)
    return datetime.combine(day, MORNING, tzinfo=zone).astimezone(UTC)
