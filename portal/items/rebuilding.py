"""Working out all summaries anew, to prove that they were right, and to put right what was not.

A session's day may be changed as long as nothing of it is cut, and sessions know nothing of
observations; so the day of an observation is put right here, too.
"""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction
from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from portal.items.models import ItemSummary, Observation
from portal.items.recurrence import Standing
from portal.items.refreshing import KEPT, KEY, Item, hold, replace, worked_out
from portal.people.models import Swimmer
from portal.recordings.models import Session


def differences() -> int:
    """Summaries and days that are not what they should be. Changes nothing."""
    return _misdated().count() + sum(_differences(swimmer) for swimmer in _swimmers())


def rebuild() -> int:
    """Put right what is not as it should be; how much that was. One swimmer at a time."""
    return sum(_rebuild(swimmer) for swimmer in _swimmers())


def follow_merges() -> int:
    """Put right the summaries of terms that have been merged into others since; how many rows
    that changed. What was said stays as it was: the other term counts from now on."""
    merged = Q(fault__merged_into__isnull=False) | Q(checkpoint__merged_into__isnull=False)
    swimmers = ItemSummary.objects.filter(merged).values_list("swimmer", flat=True)
    return sum(_rebuild(swimmer) for swimmer in sorted(set(swimmers)))


def _swimmers() -> list[int]:
    """All at once: on SQLite a query that is still being read would keep this process from
    writing as soon as another has written."""
    return list(Swimmer.objects.order_by("pk").values_list("pk", flat=True))


@transaction.atomic
def _differences(swimmer: int) -> int:
    hold([swimmer])
    return _count(swimmer, worked_out(swimmer))


@transaction.atomic
def _rebuild(swimmer: int) -> int:
    hold([swimmer])
    day = Session.objects.filter(pk=OuterRef("session")).values("date")
    misdated = _misdated().filter(swimmer=swimmer).update(date=Subquery(day))
    fresh = worked_out(swimmer)
    wrong = _count(swimmer, fresh)
    if wrong:
        replace(swimmer, fresh)
    return misdated + wrong


def _count(swimmer: int, fresh: Mapping[Item, Standing]) -> int:
    """Items whose summaries differ, or stand on one side only."""
    stored = set(ItemSummary.objects.filter(swimmer=swimmer).values_list(*KEY, *KEPT))
    right = {
        (*item.point, item.fault, *(getattr(standing, name) for name in KEPT))
        for item, standing in fresh.items()
    }
    return len({row[: len(KEY)] for row in stored ^ right})


def _misdated() -> QuerySet[Observation]:
    return Observation.objects.exclude(date=F("session__date"))
