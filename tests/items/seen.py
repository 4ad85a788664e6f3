"""Observations as rows, without the reviews that they came from."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.refreshing import KEPT, KEY
from portal.people.models import Swimmer
from portal.recordings.models import Session
from portal.technique.models import Checkpoint, Fault, Phase
from tests.cast import DAY, NOW, Cast


def session(cast: Cast, *, days_ago: int = 0) -> Session:
    return Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(days=days_ago),
        created_by=cast.coach,
        created_at=NOW,
    )


def fault(slug: str, *, checkpoint: Checkpoint | None = None, order: int = 0) -> Fault:
    point = checkpoint or Checkpoint.objects.create(
        slug=f"{slug}-point", name=f"Good {slug}", strokes=" breast ", phase=Phase.KICK, order=order
    )
    return Fault.objects.create(
        slug=slug, name=f"Bad {slug}", strokes=" breast ", checkpoint=point, order=order
    )


def said(
    cast: Cast,
    where: Session,
    what: Fault,
    verdict: str = Verdict.WORK_ON,
    *,
    swimmer: Swimmer | None = None,
    **fields,
) -> Observation:
    """Unsaved. Praise is of the fault's checkpoint."""
    return Observation(
        **{
            "swimmer": swimmer or cast.swimmer,
            "session": where,
            "date": where.date,
            "stroke": "breast",
            "checkpoint": what.checkpoint,
            "fault": None if verdict == Verdict.GOOD else what,
            "verdict": verdict,
            "source": Observation.Source.DECK,
            "coach": cast.coach,
            "review_code": uuid4(),
            "at": NOW,
            **fields,
        }
    )


def summaries() -> set[tuple[object, ...]]:
    """All that is stored, without the ids of rows."""
    return set(ItemSummary.objects.values_list("swimmer_id", *KEY, *KEPT))
