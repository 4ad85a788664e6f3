"""What a family's pages about a child say, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext_lazy as _

from portal.people import consenting
from portal.people.ages import GROWN_UP
from portal.people.models import Consent, Guardianship, Membership, Suspension, Swimmer, User
from portal.people.questions import TO_THEMSELVES, Answered, Words, answered, questions_for

Role = Membership.Role
SECOND_ADULT = "second adult"
# What each part in the club is called, and what it sees of a swimmer.
SIGHTS: dict[str, tuple[Words, Words]] = {
    Role.HEAD_COACH: (Role.HEAD_COACH.label, _("all film of the club, and all notes")),
    Role.COACH: (Role.COACH.label, _("film of the squad, and the notes")),
    Role.ASSISTANT: (
        Role.ASSISTANT.label,
        _("film of the squad, to sort it and to help with the notes"),
    ),
    SECOND_ADULT: (
        _("second adult"),
        _("notes and clips as the family sees them, so that no coach writes alone"),
    ),
    Role.WELFARE: (
        Role.WELFARE.label,
        _("all film and notes, also what is hidden from everybody else"),
    ),
}


@dataclass(frozen=True)
class Effect:
    """For the swimmers themselves: what holds, whoever said it."""

    purpose: Consent.Purpose
    words: Words


@dataclass(frozen=True)
class Reader:
    """Somebody of the club who sees film of a swimmer."""

    name: str
    role: str

    @property
    def part(self) -> Words:
        return SIGHTS[self.role][0]

    @property
    def sees(self) -> Words:
        return SIGHTS[self.role][1]


def own_answers(swimmer: Swimmer, *, by: User, on: date) -> list[Answered]:
    """Of this person and nobody else: one household learns nothing of another's. One query."""
    newest = Consent.objects.filter(swimmer=swimmer, answered_by=by, is_newest=True)
    edition = swimmer.club.policy_edition
    return answered(questions_for(swimmer, on=on), newest, edition=edition, on=on)


def effects(swimmer: Swimmer, *, on: date) -> list[Effect]:
    """One query for each of the four."""
    found = []
    for purpose, (holding, resting) in TO_THEMSELVES.items():
        holds = bool(consenting.allowed(purpose, of=[swimmer], on=on))
        found.append(Effect(purpose, holding if holds else resting))
    return found


def film_word(swimmer: Swimmer, *, by: User, on: date) -> str:
    """Yes, no or nothing to being filmed, as far as this reader may know: the swimmers learn what
    holds, a guardian only what they said themselves. One query."""
    if by.pk == swimmer.user_id or swimmer.age(on) >= GROWN_UP:
        allowed = consenting.allowed(Consent.Purpose.FILM, of=[swimmer], on=on)
        return "yes" if allowed else "no"
    standing = Consent.objects.standing(Consent.Purpose.FILM, on=on)
    own = standing.filter(swimmer=swimmer, answered_by=by).first()
    if own is None:
        return ""
    return "yes" if own.is_given else "no"


def readers(swimmer: Swimmer, *, on: date) -> list[Reader]:
    """Those who see a swimmer's film besides the family, which is never named nor counted. Two
    queries."""
    shut_out = Suspension.objects.filter(club=swimmer.club_id, lifted_at=None).values("user")
    places = list(swimmer.places.on(on).select_related("squad__second_adult"))
    squads = {place.squad_id for place in places}
    members = Membership.objects.filter(club=swimmer.club_id, user__is_active=True).on(on)
    members = members.exclude(user__in=shut_out).select_related("user").order_by("user__name")
    seen = [
        Reader(member.user.name, member.role)
        for member in members
        if member.role in (Role.HEAD_COACH, Role.WELFARE) or member.squad_id in squads
    ]
    adults = [place.squad.second_adult for place in places]
    second = [Reader(adult.name, SECOND_ADULT) for adult in adults if adult and adult.is_active]
    return list(dict.fromkeys(seen + second))


def guardians_of(swimmer: Swimmer, *, on: date) -> Sequence[Guardianship]:
    """For a grown-up swimmer: those who were guardians and may be let go on reading."""
    ties = swimmer.guardianships.filter(starts__lte=on).select_related("guardian")
    open_ties = [t for t in ties.order_by("guardian__name") if t.ends is None or t.ends > on]
    return [tie for tie in open_ties if tie.barred_from is None or tie.barred_from > on]
