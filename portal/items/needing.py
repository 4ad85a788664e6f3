"""What of a swimmer is still open, and what of it needs looking at most."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db.models import QuerySet

from portal.items.models import ItemSummary, Observation
from portal.items.recurrence import OPEN, State, is_not_seen_lately
from portal.people.models import Swimmer

MOST_OPEN = 6
"""More would not be answered."""


def open_items(swimmer: Swimmer, stroke: str) -> list[ItemSummary]:
    """In order of need: not legal, returned, recurring, new, improving; six at most. Within
    these in the order of the catalogue, so that the list does not reshuffle. One query."""
    return by_need(ItemSummary.objects.still_open().filter(swimmer=swimmer, stroke=stroke))[
        :MOST_OPEN
    ]


def by_need(items: QuerySet[ItemSummary]) -> list[ItemSummary]:
    """All of them, what needs looking at most first. One query."""
    return sorted(items.select_related("checkpoint", "fault"), key=_need)


def not_seen_lately(
    swimmer: Swimmer, items: Sequence[ItemSummary], *, on: date
) -> list[ItemSummary]:
    """Those of `items` that nobody looked at for long. One query."""
    reviewed = set(Observation.objects.filter(swimmer=swimmer).values_list("date", "session"))
    return [
        item
        for item in items
        if item.last_look
        and is_not_seen_lately(
            item.last_look,
            sessions_since=sum(place > (item.last_look, item.last_session) for place in reviewed),
            on=on,
        )
    ]


def _need(item: ItemSummary) -> tuple[bool, int, int, int]:
    order = item.fault.order if item.fault else 0
    return not item.was_not_legal, OPEN.index(State(item.state)), item.checkpoint.order, order
