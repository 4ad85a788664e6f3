"""Whether a swimmer may be filmed, shown or pictured: the strictest of the newest answers.

Who has to answer is asked when the answer is given: a guardian of that day, or a grown-up
swimmer. What was said holds until the same person says otherwise, the guardian's tie ends, or,
for a yes, some time after the season.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.ages import GROWN_UP, age
from portal.people.models import Consent, Season, Swimmer, User

# Clips of a season are kept so long after it; then the family is asked again.
AFTER_THE_SEASON = timedelta(days=30)


class NotTaken(Exception):
    """The answer does not count; the message says why and what to do."""


@dataclass(frozen=True)
class Paper:
    """A signed form that somebody of the club enters."""

    signed_on: date
    recorded_by: User


@dataclass(frozen=True)
class Told:
    """A refusal that somebody of the club heard. Never a consent: that takes the person."""

    recorded_by: User


def answer(
    swimmer: Swimmer,
    purpose: Consent.Purpose,
    *,
    is_given: bool,
    by: User,
    at: datetime,
    source: Paper | Told | None = None,
) -> Consent:
    """Write down what `by` says; without a source they said it here. Raises NotTaken."""
    today = swimmer.club.day(at)
    if by not in who_answers(swimmer, on=today):
        raise NotTaken(
            _("%(name)s cannot answer for %(swimmer)s today. Guardians can, until 18.")
            % {"name": by, "swimmer": swimmer.first_name}
        )
    if is_given and isinstance(source, Told):
        raise NotTaken(
            _("Only a no can be taken down from hearsay. For a yes, take a signed form.")
        )
    with transaction.atomic():
        mine = Consent.objects.filter(swimmer=swimmer, purpose=purpose, answered_by=by)
        newest = mine.select_for_update().filter(is_newest=True).first()
        if isinstance(source, Paper):
            _check(source, newest, today=today)
        mine.filter(is_newest=True).update(is_newest=False)
        consent = Consent.objects.create(
            swimmer=swimmer,
            purpose=purpose,
            is_given=is_given,
            answered_by=by,
            at=at,
            until=_lasts_until(swimmer, today) if is_given else None,
            edition=swimmer.club.policy_edition,
            **_origin(source),
        )
        recorder = source.recorded_by if source else by
        note(Entry.Action.MADE, consent, at=at, by=recorder, club=swimmer.club, purpose=purpose)
    return consent


def answer_all(
    swimmer: Swimmer, said: Mapping[Consent.Purpose, bool], *, by: User, at: datetime
) -> None:
    """What `by` says here to several questions, all of it or nothing. An answer that would leave
    everything as it stands is not written again; one that renews a yes, or is given to a new
    edition of the policy, is."""
    today = swimmer.club.day(at)
    with transaction.atomic():
        mine = Consent.objects.filter(swimmer=swimmer, answered_by=by, is_newest=True)
        newest = {row.purpose: row for row in mine}
        lasts = _lasts_until(swimmer, today)
        for purpose, is_given in said.items():
            would_say = (is_given, lasts if is_given else None, swimmer.club.policy_edition)
            row = newest.get(purpose)
            if row is None or _says(row) != would_say or row.way != Consent.Way.ONLINE:
                answer(swimmer, purpose, is_given=is_given, by=by, at=at)


def who_answers(swimmer: Swimmer, *, on: date) -> list[User]:
    """The guardians of that day, in no order that tells anything; from 18 the swimmer alone. Who
    has not answered the invitation yet may still sign a form, or say no by word of mouth."""
    if swimmer.age(on) >= GROWN_UP:
        return [swimmer.user] if swimmer.user else []
    ties = swimmer.guardianships.named(on).select_related("guardian")
    return [tie.guardian for tie in ties.order_by("guardian__name", "guardian")]


def end_answers(swimmer: Swimmer, *, of: User, on: date) -> None:
    """What this guardian said, yes or no, counts until that day and no longer."""
    newest = Consent.objects.filter(swimmer=swimmer, answered_by=of, is_newest=True)
    newest.filter(Q(until=None) | Q(until__gt=on)).update(until=on)


def allowed(purpose: Consent.Purpose, *, of: Collection[Swimmer], on: date) -> set[int]:
    """Ids of those swimmers with at least one yes and no standing no. One query."""
    answers = Consent.objects.standing(purpose, on=on).filter(swimmer__in=of)
    given: dict[int, list[bool]] = defaultdict(list)
    for swimmer, is_given in answers.values_list("swimmer_id", "is_given"):
        given[swimmer].append(is_given)
    return {swimmer for swimmer, said in given.items() if all(said)}


def withheld(purpose: Consent.Purpose, *, on: date) -> QuerySet[Swimmer]:
    """The same rule turned round, for filters: swimmers without a yes, or with a standing no."""
    standing = Consent.objects.standing(purpose, on=on)
    said_yes = standing.filter(is_given=True).values("swimmer")
    return Swimmer.objects.filter(~Q(id__in=said_yes) | Q(id__in=refused(purpose, on=on)))


def refused(purpose: Consent.Purpose, *, on: date) -> QuerySet[Consent, int]:
    """Ids of the swimmers with a standing no."""
    standing = Consent.objects.standing(purpose, on=on)
    return standing.filter(is_given=False).values_list("swimmer_id", flat=True)


def counts(*, until: date | None, born: date, own: int | None, by: int, on: date) -> bool:
    """Whether somebody's newest answer stands on that day: `Consent.objects.standing` for a row
    in hand. `own` and `by` are the ids of the swimmer's own user and of who answered."""
    is_child = age(born, on=on) < GROWN_UP
    return (until is None or until > on) and (is_child or own == by)


def _says(row: Consent) -> tuple[bool, date | None, str]:
    return row.is_given, row.until, row.edition


def _check(paper: Paper, newest: Consent | None, *, today: date) -> None:
    """An old form does not overrule what the same person has said since."""
    if paper.signed_on > today:
        raise NotTaken(
            _("The form is dated %(day)s, and that day is still to come. Look at the date again.")
            % {"day": paper.signed_on}
        )
    if newest and newest.swimmer.club.day(newest.at) > paper.signed_on:
        raise NotTaken(
            _("The form is older than the answer of %(day)s, which counts. Ask for a new form.")
            % {"day": newest.swimmer.club.day(newest.at)}
        )


def _lasts_until(swimmer: Swimmer, today: date) -> date | None:
    """Without a season in the calendar, until further notice."""
    season = Season.objects.filter(club=swimmer.club, starts__lte=today, ends__gte=today).first()
    return season.ends + AFTER_THE_SEASON if season else None


def _origin(source: Paper | Told | None) -> dict[str, object]:
    match source:
        case Paper(signed_on, recorded_by):
            return {"way": "paper", "signed_on": signed_on, "recorded_by": recorded_by}
        case Told(recorded_by):
            return {"way": "told", "recorded_by": recorded_by}
    return {}
