"""Keeping the summaries in step with the observations.

A point is a stroke and a checkpoint: praise of it counts for all its faults, so its items are
worked out together, and always from all observations. That costs no more than counting on, and it
is right for whatever has changed: an edit, another day, another swimmer, a review taken back.

What is read and written here goes by in SQL: built from the models, the rows of one publishing
cost several times what the database asks for them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from operator import attrgetter
from typing import Any, NamedTuple

from django.db import connection
from django.utils.dateparse import parse_date

from portal.items.models import Verdict
from portal.items.recurrence import Said, Standing, looks, stand
from portal.people.models import Swimmer

PLAIN = ("state", "looks", "faulty", "clean_run", "faulty_run", "needed", "rate")
FLAGS = ("was_not_legal", "has_returned", "disputed")
DAYS = ("first_fault", "last_fault", "last_look")
KEPT = (*PLAIN, *FLAGS, *DAYS, "last_session")
"""What a summary takes over from a standing."""
_plain, _days = attrgetter(*PLAIN, *FLAGS), attrgetter(*DAYS)

STANDING = """
    FROM items_observation seen
    LEFT JOIN technique_fault fault ON fault.id = seen.fault_id
    LEFT JOIN technique_fault other ON other.id = fault.merged_into_id
    JOIN technique_checkpoint point ON point.id = COALESCE(other.checkpoint_id, seen.checkpoint_id)
"""
POINT, FAULT = "COALESCE(point.merged_into_id, point.id)", "COALESCE(other.id, seen.fault_id)"
"""Of a term that was merged into another the other counts. A merge never points at a merge."""
SAID = f"""
    SELECT seen.swimmer_id, seen.stroke, {POINT}, {FAULT}, seen.verdict,
        seen.session_id, seen.date, seen.clip_id, seen.coach_id, seen.overruled_at
    {STANDING} WHERE seen.swimmer_id IN ({{}})
"""
OF_POINTS = f" AND {POINT} IN ({{}})"
OF_SESSIONS = " AND seen.session_id IN ({})"
KEY = ("stroke", "checkpoint_id", "fault_id")
KNOWN = "SELECT id, stroke, checkpoint_id, fault_id FROM items_itemsummary WHERE swimmer_id = %s"
OF_SUMMARIES = " AND checkpoint_id IN ({})"
# Columns of ours and places for values; nothing that anybody typed.
ADD = """
    INSERT INTO items_itemsummary ({}, swimmer_id, stroke, checkpoint_id, fault_id) VALUES ({})
""".format(", ".join(KEPT), ", ".join(["%s"] * (len(KEPT) + 4)))  # noqa: S608
CHANGE = "UPDATE items_itemsummary SET {} = %s WHERE id = %s".format(" = %s, ".join(KEPT))  # noqa: S608
FORGET = "DELETE FROM items_itemsummary WHERE id = %s"


class Point(NamedTuple):
    stroke: str
    checkpoint: int


class Item(NamedTuple):
    point: Point
    fault: int | None


def hold(swimmers: Iterable[int]) -> None:
    """Let nobody else change what was seen of these until the transaction ends.

    Two publishings at a time would each work out the summaries without the other's observations,
    and the later would keep what it had not seen. In the order of ids, lest two wait for each
    other; and before anything is written. On SQLite the transaction itself is the lock.
    """
    if connection.features.has_select_for_update:
        rows = Swimmer.objects.select_for_update(no_key=True).filter(pk__in=swimmers)
        list(rows.order_by("pk").values_list("pk"))


def refresh(swimmer: int, checkpoints: Collection[int]) -> None:
    """Work out the items of these anew. The caller holds the swimmer. Five statements at most."""
    replace(swimmer, worked_out(swimmer, checkpoints), checkpoints)


def replace(
    swimmer: int, standings: Mapping[Item, Standing], checkpoints: Collection[int] | None = None
) -> None:
    """Keep these instead of what is kept, of these checkpoints or of all.

    Rows stay where they are: most of a row's cost are its places in the indexes.
    """
    narrower = OF_SUMMARIES.format(_places(checkpoints)) if checkpoints else ""
    with connection.cursor() as cursor:
        cursor.execute(KNOWN + narrower, [swimmer, *(checkpoints or ())])
        known = {Item(Point(*point), fault): pk for pk, *point, fault in cursor.fetchall()}
        gone = [(pk,) for item, pk in known.items() if item not in standings]
        same = [
            (*_values(standing), known[item])
            for item, standing in standings.items()
            if item in known
        ]
        new = [
            (*_values(standing), swimmer, *item.point, item.fault)
            for item, standing in standings.items()
            if item not in known
        ]
        # What gives way goes first: a point has one row of its own only without any fault.
        steps: tuple[tuple[str, list[Any]], ...] = ((FORGET, gone), (CHANGE, same), (ADD, new))
        for statement, rows in steps:
            if rows:
                cursor.executemany(statement, rows)


def worked_out(swimmer: int, checkpoints: Collection[int] | None = None) -> dict[Item, Standing]:
    """How the items stand, of these checkpoints or of all. One query."""
    said = said_of([swimmer], checkpoints).get(swimmer, {})
    return {item: stand(looks(words)) for item, words in said.items()}


def said_of(
    swimmers: Collection[int],
    checkpoints: Collection[int] | None = None,
    *,
    sessions: Collection[int] | None = None,
) -> dict[int, dict[Item, list[Said]]]:
    """All that was said of each swimmer's items, in no order; of these checkpoints
    and in these sessions alone, if any are given. One query."""
    if not swimmers or (sessions is not None and not sessions):
        return {}
    query = SAID.format(_places(swimmers))
    query += OF_POINTS.format(_places(checkpoints)) if checkpoints else ""
    query += OF_SESSIONS.format(_places(sessions)) if sessions else ""
    with connection.cursor() as cursor:
        cursor.execute(query, [*swimmers, *(checkpoints or ()), *(sessions or ())])
        rows = cursor.fetchall()
    found: dict[int, dict[tuple[str, int, int | None], list[Said]]] = {}
    for swimmer, stroke, checkpoint, fault, verdict, session, day, clip, coach, overruled in rows:
        is_faulty, is_not_legal = verdict != Verdict.GOOD, verdict == Verdict.NOT_LEGAL
        is_overruled = overruled is not None
        words = Said(session, _day(day), clip, coach, is_faulty, is_not_legal, is_overruled)
        said = found.setdefault(swimmer, {})
        said.setdefault((stroke, checkpoint, fault), []).append(words)
    return {
        swimmer: dict(_with_praise({Item(Point(*k[:2]), k[2]): each for k, each in said.items()}))
        for swimmer, said in found.items()
    }


def _with_praise(said: Mapping[Item, list[Said]]) -> Iterator[tuple[Item, list[Said]]]:
    """Praise of a point counts for each of its faults; by itself only where there is none."""
    faults = {item.point for item in said if item.fault is not None}
    for item, words in said.items():
        if item.fault is not None:
            yield item, words + said.get(Item(item.point, None), [])
        elif item.point not in faults:
            yield item, words


def _values(standing: Standing) -> tuple[object, ...]:
    """What is kept of it, as the engine takes it."""
    day = connection.ops.adapt_datefield_value
    return (*_plain(standing), *map(day, _days(standing)), standing.last_session)


def _day(value: date | str) -> date:
    """SQLite may hand over what it keeps: words."""
    if isinstance(value, date):
        return value
    day = parse_date(value)
    assert day is not None, value  # noqa: S101
    return day


def _places(values: Collection[int]) -> str:
    return ", ".join(["%s"] * len(values))
