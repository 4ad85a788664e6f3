"""Writing observations when a review is published. Drafts never come here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from django.db import connection, transaction

from portal.items.models import Observation
from portal.items.refreshing import POINT, STANDING, hold, refresh

PLACES = f"SELECT DISTINCT seen.swimmer_id, {POINT} {STANDING} WHERE seen.review_code = %s"


@transaction.atomic
def observe(review_code: UUID, observations: Iterable[Observation]) -> None:
    """Make `observations` all that this review says, in the caller's transaction.

    The summaries follow, of what it said before as well: a clip may be another swimmer's now.
    """
    fresh = list(observations)
    for each in fresh:
        each.review_code = review_code
    earlier = _places(review_code)
    hold({each.swimmer_id for each in fresh} | {swimmer for swimmer, _ in earlier})
    if earlier:
        Observation.objects.filter(review_code=review_code).delete()
    Observation.objects.bulk_create(fresh)
    changed: dict[int, set[int]] = defaultdict(set)
    for swimmer, checkpoint in earlier | (_places(review_code) if fresh else set()):
        changed[swimmer].add(checkpoint)
    for swimmer, checkpoints in changed.items():
        refresh(swimmer, checkpoints)


def withdraw(review_code: UUID) -> None:
    observe(review_code, [])


def _places(review_code: UUID) -> set[tuple[int, int]]:
    """Of whom and of which checkpoint it speaks. In SQL, as in `refreshing`."""
    code = Observation._meta.get_field("review_code").get_db_prep_value(review_code, connection)
    with connection.cursor() as cursor:
        cursor.execute(PLACES, [code])
        return set(cursor.fetchall())
