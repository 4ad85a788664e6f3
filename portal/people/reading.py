"""Who hears of a swimmer's notes by mail, outside any request."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from portal.people import consenting
from portal.people.ages import GROWN_UP, OWN_SIGN_IN
from portal.people.models import Consent, Suspension, Swimmer, User


@dataclass(frozen=True)
class Readers:
    guardians: list[User]
    own: User | None
    """The swimmer, from 13, once a guardian has agreed to a sign-in of their own."""

    @property
    def everybody(self) -> list[User]:
        return [*self.guardians, *([self.own] if self.own else [])]


def readers_of(swimmer: Swimmer, *, on: date) -> Readers:
    """No mail goes to a minor that no guardian has as well. At most five queries."""
    ties = swimmer.guardianships.on(on).filter(guardian__is_active=True)
    guardians = list(User.objects.filter(pk__in=ties.values("guardian")).order_by("pk"))
    return Readers(guardians, _own(swimmer, on=on, is_guarded=bool(guardians)))


def _own(swimmer: Swimmer, *, on: date, is_guarded: bool) -> User | None:
    own, years = swimmer.user, swimmer.age(on)
    if own is None or not own.is_active:
        return None
    if Suspension.objects.filter(user=own, club=swimmer.club_id, lifted_at=None).exists():
        return None
    if years >= GROWN_UP:
        return own
    agreed = consenting.allowed(Consent.Purpose.SIGN_IN, of=[swimmer], on=on)
    return own if years >= OWN_SIGN_IN and is_guarded and agreed else None
