"""Writing observations when a review is published. Drafts never come here."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from portal.items.models import Observation


def observe(review_code: UUID, observations: Iterable[Observation]) -> None:
    """Make `observations` all that this review says, in the caller's transaction."""
    withdraw(review_code)
    Observation.objects.bulk_create(observations)


def withdraw(review_code: UUID) -> None:
    Observation.objects.filter(review_code=review_code).delete()
