"""Keeping the summaries in step with the observations.

A point is a stroke and a checkpoint: praise of it counts for all its faults, so its items are
worked out together, and always from all observations. That costs no more than counting on, and it
is right for whatever has changed: an edit, another day, another swimmer, a review taken back.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.recurrence import Said, looks, stand
from portal.people.models import Swimmer

COLUMNS = (
    *("stroke", "checkpoint_id", "fault_id", "verdict"),
    *("session_id", "date", "clip_id", "coach_id"),
)
KEPT = (
    *("state", "looks", "faulty", "clean_run", "faulty_run", "needed", "rate", "was_not_legal"),
    *("has_returned", "disputed", "first_fault", "last_fault", "last_look", "last_session"),
)
"""What a summary takes over from a standing."""


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
    other; and before anything is written, on SQLite the transaction itself is the lock.
    """
    rows = Swimmer.objects.select_for_update(no_key=True).filter(pk__in=swimmers).order_by("pk")
    list(rows.values_list("pk"))


def refresh(swimmer: int, points: Collection[Point]) -> None:
    """Work out these points anew. The caller holds the swimmer. Four statements at most."""
    if not points:
        return
    checkpoints = {point.checkpoint for point in points}
    kept = ItemSummary.objects.filter(swimmer=swimmer, checkpoint__in=checkpoints)
    rows = kept.values_list("pk", "stroke", "checkpoint_id")
    stale = [key for key, stroke, checkpoint in rows if Point(stroke, checkpoint) in points]
    fresh = [row for row in worked_out(swimmer, checkpoints) if _point(row) in points]
    ItemSummary.objects.filter(pk__in=stale).delete()
    ItemSummary.objects.bulk_create(fresh)


def worked_out(swimmer: int, checkpoints: Collection[int] | None = None) -> list[ItemSummary]:
    """The summaries as they should be, unsaved: of these checkpoints, or of all. One query."""
    seen = Observation.objects.filter(swimmer=swimmer).order_by()
    if checkpoints is not None:
        seen = seen.filter(checkpoint__in=checkpoints)
    said: dict[Item, list[Said]] = defaultdict(list)
    for stroke, checkpoint, fault, verdict, session, day, clip, coach in seen.values_list(*COLUMNS):
        is_faulty, is_not_legal = verdict != Verdict.GOOD, verdict == Verdict.NOT_LEGAL
        words = Said(session, day, clip, coach, is_faulty, is_not_legal)
        said[Item(Point(stroke, checkpoint), fault)].append(words)
    return [_summary(swimmer, item, each) for item, each in _with_praise(said)]


def _with_praise(said: Mapping[Item, list[Said]]) -> Iterable[tuple[Item, list[Said]]]:
    """Praise of a point counts for each of its faults; by itself only where there is none."""
    faults = {item.point for item in said if item.fault is not None}
    for item, words in said.items():
        if item.fault is not None:
            yield item, words + said.get(Item(item.point, None), [])
        elif item.point not in faults:
            yield item, words


def _summary(swimmer: int, item: Item, said: Iterable[Said]) -> ItemSummary:
    standing = stand(looks(said))
    return ItemSummary(
        swimmer_id=swimmer,
        stroke=item.point.stroke,
        checkpoint_id=item.point.checkpoint,
        fault_id=item.fault,
        **{name: getattr(standing, name) for name in KEPT},
    )


def _point(row: ItemSummary) -> Point:
    return Point(row.stroke, row.checkpoint_id)
