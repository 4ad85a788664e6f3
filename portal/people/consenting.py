"""Whether a swimmer may be filmed, shown or pictured: the strictest of the newest answers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from django.db.models import Q, QuerySet

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
    answers = Consent.objects.standing(purpose).filter(swimmer__in=of)
    given: dict[int, list[bool]] = defaultdict(list)
    for swimmer, is_given in answers.values_list("swimmer_id", "is_given"):
        given[swimmer].append(is_given)
    return {swimmer for swimmer, said in given.items() if all(said)}


def withheld(purpose: Consent.Purpose) -> QuerySet[Swimmer]:
    """The same rule turned round, for filters: swimmers without a yes, or with a standing no."""
    standing = Consent.objects.standing(purpose)
    said_yes = standing.filter(is_given=True).values("swimmer")
    said_no = standing.filter(is_given=False).values("swimmer")
    return Swimmer.objects.filter(~Q(id__in=said_yes) | Q(id__in=said_no))
