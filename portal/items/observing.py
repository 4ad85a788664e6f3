"""Writing observations when a review is published. Drafts never come here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from uuid import UUID

from django.db import transaction

from portal.items.models import Observation
from portal.items.refreshing import Point, hold, refresh


@transaction.atomic
def observe(review_code: UUID, observations: Iterable[Observation]) -> None:
    """Make `observations` all that this review says, in the caller's transaction.

    The summaries follow, of what it said before as well: a clip may be another swimmer's now.
    """
    fresh = list(observations)
    earlier = list(Observation.objects.filter(review_code=review_code))
    changed = _points([*earlier, *fresh])
    hold(changed)
    if earlier:
        Observation.objects.filter(review_code=review_code).delete()
    Observation.objects.bulk_create(fresh)
    for swimmer, points in changed.items():
        refresh(swimmer, points)


def withdraw(review_code: UUID) -> None:
    observe(review_code, [])


def _points(observations: Iterable[Observation]) -> dict[int, Collection[Point]]:
    """By their swimmers."""
    found: dict[int, set[Point]] = defaultdict(set)
    for each in observations:
        found[each.swimmer_id].add(Point(each.stroke, each.checkpoint_id))
    return dict(found)
