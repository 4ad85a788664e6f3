"""Taking in a concern: kept whole, and only that one came in is mailed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.openness import telling
from portal.openness.models import Case
from portal.people import confiding
from portal.people.models import Club, Membership, User


class Unheard(Exception):
    """Nobody of the club is there to hear it; nothing was kept."""


@dataclass(frozen=True)
class Concern:
    subject: str
    words: str
    about: str = ""
    may_answer: bool = False
    about_officer: bool = False


@transaction.atomic
def report(concern: Concern, *, club: Club, code: UUID, by: User, at: datetime) -> Case:
    """The same `code` of the same person again is the same concern, and nobody is mailed twice.

    A concern that names the welfare officer as what it is about goes to the second recipient and
    past the officer. Where nobody is officer today, the second recipient hears all.
    """
    told = Case.objects.filter(code=code).first()
    if told and told.told_by == by:
        return told
    reader, hearing = _readers(club, about_officer=concern.about_officer, at=at)
    if not hearing:
        raise Unheard(f"No recipient of concerns in club {club.code}; name one in its settings.")
    case, is_new = Case.objects.get_or_create(
        code=uuid4() if told else code,
        told_by=by,
        defaults={
            "club": club,
            "reader": reader,
            "subject": concern.subject,
            "about": concern.about,
            "words": concern.words,
            "may_answer": concern.may_answer,
            "at": at,
        },
    )
    if is_new:
        note(Entry.Action.MADE, case, at=at, by=by, club=club)
        telling.concern_came_in(case, to=[tie.user for tie in hearing if tie.user != by], at=at)
    return case


def _readers(
    club: Club, *, about_officer: bool, at: datetime
) -> tuple[Case.Reader, Iterable[Membership]]:
    today = club.day(at)
    officers = [] if about_officer else list(confiding.officers_of([club], on=today))
    if officers:
        return Case.Reader.OFFICER, officers
    return Case.Reader.SECOND, list(confiding.seconds_of([club], on=today))
