"""A week's mail before it goes: what it will say, a line of the coach's own, and holding it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.digests.gathering import Edition
from portal.digests.models import Preface
from portal.digests.timing import Week
from portal.people.models import Club, User


def next_edition(club: Club, *, at: datetime) -> Edition:
    """The one that is due next; one that is held counts as long as it may still go."""
    weeks = [Week.of((at + timedelta(days=days)).date()) for days in (-7, 0, 7)]
    editions = [Edition(club, week) for week in weeks]
    held = Preface.objects.filter(club=club).exclude(why_held="")
    waiting = set(held.values_list("week", flat=True))
    return next(
        edition
        for edition in editions
        if edition.due_at > at
        or (str(edition.week) in waiting and edition.week in edition.hour.due_weeks(at))
    )


def preface_of(edition: Edition) -> Preface | None:
    return Preface.objects.filter(club=edition.club, week=str(edition.week)).first()


def opened(editions: Iterable[Edition]) -> list[Edition]:
    """Those that are not held, with their opening lines. One query."""
    wanted = list(editions)
    of_these = Q()
    for edition in wanted:
        of_these |= Q(club=edition.club, week=str(edition.week))
    rows = Preface.objects.filter(of_these) if wanted else []
    prefaces = {(row.club_id, row.week): row for row in rows}
    found = []
    for edition in wanted:
        preface = prefaces.get((edition.club.pk, str(edition.week)))
        if preface is None or not preface.why_held:
            opening = preface.opening if preface else ""
            found.append(replace(edition, opening=opening))
    return found


@transaction.atomic
def keep(edition: Edition, *, opening: str, why_held: str, by: User, at: datetime) -> Preface:
    preface, _is_new = Preface.objects.update_or_create(
        club=edition.club,
        week=str(edition.week),
        defaults={
            "opening": opening,
            "why_held": why_held,
            "changed_by": by,
            "changed_at": at,
        },
    )
    note(
        Entry.Action.CHANGED,
        edition.club,
        at=at,
        by=by,
        club=edition.club,
        digest=str(edition.week),
        held=int(bool(why_held)),
    )
    return preface
