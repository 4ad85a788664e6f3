"""Notes from the deck: what somebody saw of a swimmer without film, in the same review."""

from __future__ import annotations

from datetime import datetime
from typing import Unpack

from django.db import transaction
from django.db.models import QuerySet

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import SquadPlace, Swimmer, User
from portal.recordings.models import Session
from portal.review import commenting
from portal.review.commenting import Fields, Swim
from portal.review.models import Comment


def write(
    session: Session,
    swimmer: Swimmer,
    *,
    stroke: str,
    by: User,
    at: datetime,
    **fields: Unpack[Fields],
) -> Comment:
    """Raises commenting.Refused. Nobody's consent is asked: it is about film."""
    comment = Comment(session=session, stroke=stroke, author=by, created_at=at, changed_at=at)
    with transaction.atomic():
        commenting.lay(comment, Swim(stroke, ""), fields)
        reviews = commenting.reviews_for(session, [swimmer])
        commenting.hang(comment, reviews, focus=fields.get("focus"))
        note(Entry.Action.MADE, comment, at=at, by=by, club=session.squad.club, deck=1)
    return comment


def squad(session: Session) -> QuerySet[Swimmer]:
    """Who swam with it on that day, film or no film."""
    places = SquadPlace.objects.filter(squad=session.squad_id).on(session.date)
    return Swimmer.objects.filter(pk__in=places.values("swimmer"))


def notes(session: Session, swimmer: Swimmer) -> list[Comment]:
    """Of this review, the oldest first; dropped ones too, so that a drop can be taken back."""
    said = Comment.objects.filter(session=session, clip=None, reviews__swimmer=swimmer)
    related = ("fault__checkpoint", "checkpoint", "drill", "author")
    return list(said.select_related(*related).order_by("created_at", "pk"))
