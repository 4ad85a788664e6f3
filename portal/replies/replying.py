"""Saying something below notes. No adult of the club writes to a child alone: without a second
adult and, for a minor, somebody at home who reads along, nothing is said at all."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.ages import GROWN_UP
from portal.people.models import Squad, Swimmer, User
from portal.recordings.models import Session
from portal.replies.models import LONGEST, Reply

Kind = Reply.Kind
FROM_FAMILY = (Kind.GOT_IT, Kind.SHOW_ME)


class Alone(Exception):
    """An adult and a minor would talk without anybody who reads along."""

    def __init__(self) -> None:
        super().__init__(
            "Nothing is said where no second adult and no guardian reads along."
            " Name a second adult for the squad and invite a guardian."
        )


@dataclass(frozen=True)
class Thread:
    """All that is said below one review's notes."""

    review_code: UUID
    session: Session
    swimmer: Swimmer


def has_second_adult(squad: Squad) -> bool:
    return squad.second_adult is not None and squad.second_adult.is_active


def is_open(thread: Thread, *, on: date) -> bool:
    """Whether enough people read along. At most one query."""
    if not has_second_adult(thread.session.squad):
        return False
    if thread.swimmer.age(on) >= GROWN_UP:
        return True
    return thread.swimmer.guardianships.on(on).filter(guardian__is_active=True).exists()


def say(thread: Thread, *, kind: Reply.Kind, words: str = "", by: User, at: datetime) -> Reply:
    """For the family; what the coaches wrote before counts as seen. Said twice in a row, it
    stands there once."""
    with transaction.atomic():
        _must_be_open(thread, at=at)
        _see(thread, [Kind.FROM_COACH], by=by, at=at)
        last = _rows(thread).last()
        if last and (last.kind, last.words) == (kind, words):
            return last
        return _keep(thread, kind=kind, words=words, by=by, at=at)


def answer(thread: Thread, *, words: str, by: User, at: datetime) -> Reply:
    """For a coach of the squad; what the family asked counts as seen."""
    with transaction.atomic():
        _must_be_open(thread, at=at)
        _see(thread, FROM_FAMILY, by=by, at=at)
        return _keep(thread, kind=Kind.FROM_COACH, words=words, by=by, at=at)


def take_up(thread: Thread, *, by: User, at: datetime) -> None:
    """A coach has seen what the family said, and answers on deck or not at all."""
    with transaction.atomic():
        _see(thread, FROM_FAMILY, by=by, at=at)


def said(thread: Thread) -> list[Reply]:
    """Oldest first, with what a page says of them. One query."""
    rows = _rows(thread).select_related("by", "seen_by")
    return list(rows.only("kind", "words", "at", "by__name", "seen_at", "seen_by__name"))


def _must_be_open(thread: Thread, *, at: datetime) -> None:
    if not is_open(thread, on=thread.session.squad.club.day(at)):
        raise Alone


def _rows(thread: Thread) -> QuerySet[Reply]:
    return Reply.objects.filter(review_code=thread.review_code, swimmer=thread.swimmer)


def _keep(thread: Thread, *, kind: Reply.Kind, words: str, by: User, at: datetime) -> Reply:
    reply = Reply.objects.create(
        review_code=thread.review_code,
        session=thread.session,
        swimmer=thread.swimmer,
        kind=kind,
        words=words[:LONGEST],
        by=by,
        at=at,
    )
    _note(Entry.Action.MADE, reply, by=by, at=at)
    return reply


def _see(thread: Thread, kinds: Collection[Reply.Kind], *, by: User, at: datetime) -> None:
    for reply in _rows(thread).filter(kind__in=kinds, seen_at=None):
        reply.seen_at, reply.seen_by = at, by
        reply.save(update_fields=["seen_at", "seen_by"])
        _note(Entry.Action.SAW, reply, by=by, at=at)


def _note(action: Entry.Action, reply: Reply, *, by: User, at: datetime) -> None:
    note(
        action,
        reply,
        at=at,
        by=by,
        club=reply.session.squad.club,
        swimmer=str(reply.swimmer.code),
        state=reply.kind,
    )
