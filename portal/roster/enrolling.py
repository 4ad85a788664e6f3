"""Taking swimmers into a club, with their guardians, and correcting what is written of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Club, Guardianship, Squad, Swimmer, User
from portal.roster import guarding, inviting, moving
from portal.roster.parsing import Named


class AlreadyHere(Exception):
    """The club has a swimmer of that name and birthday."""

    def __init__(self, swimmer: Swimmer) -> None:
        super().__init__(
            _("The club has %(name)s with this date of birth already. Look there first.")
            % {"name": swimmer.name}
        )
        self.swimmer = swimmer


@dataclass(frozen=True)
class Newcomer:
    first_name: str
    last_name: str
    born: date
    squad: Squad
    guardians: tuple[Named, ...] = ()


@transaction.atomic
def enrol(newcomer: Newcomer, *, on: date, by: User, at: datetime) -> Swimmer:
    """And invite the guardians. Raises AlreadyHere, NotMoved or NotTied."""
    swimmer, ties = take_in(newcomer, on=on, by=by, at=at)
    inviting.invite_guardians(ties, by=by, at=at)
    return swimmer


@transaction.atomic
def take_in(
    newcomer: Newcomer, *, on: date, by: User, at: datetime
) -> tuple[Swimmer, list[Guardianship]]:
    """Without a mail: an address gets one for all its children."""
    club = newcomer.squad.club
    moving.check(on, today=club.day(at))
    if known := namesake(club, newcomer.first_name, newcomer.last_name, newcomer.born):
        raise AlreadyHere(known)
    swimmer = Swimmer.objects.create(
        club=club,
        first_name=newcomer.first_name,
        last_name=newcomer.last_name,
        born=newcomer.born,
    )
    swimmer.places.create(squad=newcomer.squad, starts=on)
    note(Entry.Action.MADE, swimmer, at=at, by=by, club=club)
    ties = [name_guardian(swimmer, each, on=on, by=by, at=at) for each in newcomer.guardians]
    return swimmer, ties


def namesake(club: Club, first: str, last: str, born: date) -> Swimmer | None:
    """However the letters were written."""
    same_day = Swimmer.objects.filter(club=club, born=born)
    names = first.casefold(), last.casefold()
    return next(
        (s for s in same_day if (s.first_name.casefold(), s.last_name.casefold()) == names), None
    )


def name_guardian(
    swimmer: Swimmer, named: Named, *, on: date, by: User, at: datetime
) -> Guardianship:
    """Raises NotTied. The invitation is the caller's: one mail for all children of an address."""
    guardian = User.objects.of_address(named.address, name=named.name)
    return guarding.link(swimmer, guardian, called=named.name, on=on, by=by, at=at)


@transaction.atomic
def correct(
    swimmer: Swimmer, *, first_name: str, last_name: str, born: date, by: User, at: datetime
) -> Sequence[str]:
    """What was different, by name of the column."""
    wanted = {"first_name": first_name, "last_name": last_name, "born": born}
    changed = {name: value for name, value in wanted.items() if getattr(swimmer, name) != value}
    twin = namesake(swimmer.club, first_name, last_name, born)
    if twin and twin.pk != swimmer.pk:
        raise AlreadyHere(twin)
    if changed:
        Swimmer.objects.filter(pk=swimmer.pk).update(**changed)
        what = ", ".join(changed)
        note(Entry.Action.CHANGED, swimmer, at=at, by=by, club=swimmer.club, what=what)
    return list(changed)
