"""Whether a swimmer may be filmed, shown or pictured: the strictest of the newest answers."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Consent, Swimmer, User


def answer(
    swimmer: Swimmer, purpose: Consent.Purpose, *, is_given: bool, by: User, at: datetime
) -> Consent:
    consent = Consent.objects.create(
        swimmer=swimmer, purpose=purpose, is_given=is_given, answered_by=by, at=at
    )
    note(Entry.Action.MADE, consent, at=at, by=by, club=swimmer.club, purpose=purpose)
    return consent


def allowed(purpose: Consent.Purpose, *, of: Collection[Swimmer]) -> set[int]:
    """Ids of those swimmers with at least one yes and no standing no. One query."""
    rows = (
        Consent.objects.filter(purpose=purpose, swimmer__in=of)
        .order_by("at", "id")
        .values_list("swimmer_id", "answered_by_id", "is_given")
    )
    return _strictest(rows)


def _strictest(rows: Iterable[tuple[int, int, bool]]) -> set[int]:
    newest = {(swimmer, person): is_given for swimmer, person, is_given in rows}
    refused = {swimmer for (swimmer, _), is_given in newest.items() if not is_given}
    return {swimmer for swimmer, _ in newest} - refused
