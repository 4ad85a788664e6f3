"""What a family's pages about a child say, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext_lazy

from portal.people import consenting
from portal.people.models import Consent, Guardianship, Membership, Swimmer, User
from portal.people.questions import Answered, Question, answered, questions_for

Role = Membership.Role
SECOND_ADULT = gettext_lazy("second adult")


@dataclass(frozen=True)
class Effect:
    """For the swimmers themselves: what holds, whoever said it."""

    question: Question
    holds: bool


def own_answers(swimmer: Swimmer, *, by: User, on: date) -> list[Answered]:
    """Of this person and nobody else: one household learns nothing of another's. One query."""
    newest = Consent.objects.filter(swimmer=swimmer, answered_by=by, is_newest=True)
    return answered(questions_for(swimmer, on=on), newest, on=on)


def effects(swimmer: Swimmer, *, on: date) -> list[Effect]:
    return [
        Effect(question, swimmer.pk in consenting.allowed(question.purpose, of=[swimmer], on=on))
        for question in questions_for(swimmer, on=on)
    ]


def readers(swimmer: Swimmer, *, on: date) -> list[tuple[str, str]]:
    """Names and parts of those who see a swimmer's film besides the family, which is never
    named nor counted. Two queries."""
    places = list(swimmer.places.on(on).select_related("squad__second_adult"))
    squads = {place.squad_id for place in places}
    members = Membership.objects.filter(club=swimmer.club_id, user__is_active=True).on(on)
    seen = [
        (member.user.name, member.get_role_display())
        for member in members.select_related("user").order_by("user__name")
        if member.role in (Role.HEAD_COACH, Role.WELFARE) or member.squad_id in squads
    ]
    second = [
        (place.squad.second_adult.name, str(SECOND_ADULT))
        for place in places
        if place.squad.second_adult
    ]
    return list(dict.fromkeys(seen + second))


def guardians_of(swimmer: Swimmer, *, on: date) -> Sequence[Guardianship]:
    """For a grown-up swimmer: those who were guardians and may be let go on reading."""
    ties = swimmer.guardianships.filter(starts__lte=on).select_related("guardian")
    open_ties = [t for t in ties.order_by("guardian__name") if t.ends is None or t.ends > on]
    return [tie for tie in open_ties if tie.barred_from is None or tie.barred_from > on]
