"""Which squads a swimmer swims in, and whether in the club at all, from a day on."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Squad, Swimmer, User

# Further away a day is more likely mistyped than meant.
FAR = timedelta(days=366)


class NotMoved(Exception):
    """Nothing has changed; the message says what to do."""


@transaction.atomic
def move(
    swimmer: Swimmer, *, to: Squad, on: date, by: User, at: datetime, keeps: bool = False
) -> None:
    """Out of every other squad, unless the swimmer `keeps` them, and back into the club."""
    check(on, today=swimmer.club.day(at))
    if to.club_id != swimmer.club_id:
        raise NotMoved(_("That squad belongs to another club."))
    if swimmer.places.filter(squad=to, ends=None, starts__lte=on).exists() and (
        keeps or not swimmer.places.filter(ends=None).exclude(squad=to).exists()
    ):
        raise NotMoved(
            _("%(name)s is in %(squad)s already. Choose another squad.")
            % {"name": swimmer.first_name, "squad": to}
        )
    if keeps:
        swimmer.places.filter(squad=to, starts__gt=on).delete()
    else:
        _end_places(swimmer, on=on)
    swimmer.places.create(squad=to, starts=on)
    Swimmer.objects.filter(pk=swimmer.pk).update(left_on=None)
    note(Entry.Action.CHANGED, swimmer, at=at, by=by, club=swimmer.club, squad=str(to.code))


@transaction.atomic
def leave(swimmer: Swimmer, *, on: date, by: User, at: datetime) -> None:
    """From that day on the club's coaches have no business with what was seen; the family keeps
    reading it."""
    check(on, today=swimmer.club.day(at))
    _end_places(swimmer, on=on)
    Swimmer.objects.filter(pk=swimmer.pk).update(left_on=on)
    note(Entry.Action.CHANGED, swimmer, at=at, by=by, club=swimmer.club, left=on.isoformat())


def check(on: date, *, today: date) -> None:
    """Raises NotMoved for a day that is hardly meant."""
    if abs(on - today) > FAR:
        raise NotMoved(_("%(day)s is more than a year away. Look at the year again.") % {"day": on})


def _end_places(swimmer: Swimmer, *, on: date) -> None:
    """A place that would only begin then, or later, is not needed any more."""
    swimmer.places.filter(starts__gte=on).delete()
    swimmer.places.filter(Q(ends=None) | Q(ends__gt=on)).update(ends=on)
