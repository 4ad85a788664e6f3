"""Published reviews with observations as rows, for pages that only count them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from portal.items import refreshing
from portal.items.models import Observation, Verdict
from portal.people.models import Squad, Swimmer
from portal.recordings.models import Session
from portal.review.models import Review
from portal.technique.models import Fault
from tests.cast import DAY, NOW, Cast


def session(cast: Cast, *, days_ago: int = 0, squad: Squad | None = None) -> Session:
    return Session.objects.create(
        squad=squad or cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(days=days_ago),
        created_by=cast.coach,
        created_at=NOW,
    )


def look(
    where: Session,
    swimmer: Swimmer,
    fault: Fault,
    *verdicts: str,
    state: str = Review.State.PUBLISHED,
    **fields: Any,
) -> Review:
    """A review in which each of `verdicts` was said of the fault, or good of its checkpoint."""
    review, _is_new = Review.objects.get_or_create(
        session=where, swimmer=swimmer, defaults={"state": state, "published_at": NOW}
    )
    for verdict in verdicts:
        Observation.objects.create(
            **{
                "swimmer": swimmer,
                "session": where,
                "date": where.date,
                "stroke": "breast",
                "checkpoint": fault.checkpoint,
                "fault": None if verdict == Verdict.GOOD else fault,
                "verdict": verdict,
                "source": Observation.Source.COMMENT,
                "coach": where.created_by,
                "review_code": review.code,
                "at": NOW,
                **fields,
            }
        )
    refreshing.refresh(swimmer.pk, {fault.checkpoint_id})
    return review


def weekly(cast: Cast, swimmer: Swimmer, fault: Fault, *verdicts: str) -> list[Session]:
    """One session a week, the last on the cast's day; an empty verdict is no look."""
    made = []
    for back, verdict in reversed(list(enumerate(reversed(verdicts)))):
        made.append(session(cast, days_ago=7 * back))
        look(made[-1], swimmer, fault, *([verdict] if verdict else []))
    return made
