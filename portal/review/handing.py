"""A draft on its way to a coach: an assistant asks for a look, and the coach has had it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.review import commenting
from portal.review.models import Review


def hand_over(review: Review, *, by: User, at: datetime) -> None:
    """Drafted, please check. Raises commenting.AlreadyOut."""
    with transaction.atomic():
        commenting.lock([review])
        _update(review, state=Review.State.DRAFT, handed_by=by, handed_at=at)
        _note(review, by=by, at=at, handed=1)


def take_up(review: Review, *, by: User, at: datetime) -> None:
    """Not finished after all. Raises commenting.AlreadyOut."""
    with transaction.atomic():
        commenting.lock([review])
        _update(review, handed_by=None, handed_at=None)
        _note(review, by=by, at=at, handed=0)


def check(review: Review, *, by: User, at: datetime) -> None:
    """Ready to go out; what is changed from now on makes it a draft again. Raises
    commenting.AlreadyOut."""
    with transaction.atomic():
        commenting.lock([review])
        _update(review, state=Review.State.CHECKED, handed_by=None, handed_at=None)
        _note(review, by=by, at=at, checked=1)


def _update(review: Review, **fields: object) -> None:
    Review.objects.filter(pk=review.pk).update(**fields)
    review.refresh_from_db(fields=list(fields))


def _note(review: Review, *, by: User, at: datetime, **facts: int) -> None:
    club = review.session.squad.club
    swimmer = str(review.swimmer.code)
    note(Entry.Action.CHANGED, review, at=at, by=by, club=club, swimmer=swimmer, **facts)
