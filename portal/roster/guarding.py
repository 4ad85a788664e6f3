"""Who is tied to a child, in what household, and until when."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people import consenting
from portal.people.ages import GROWN_UP
from portal.people.models import Guardianship, Swimmer, User

# More than there are in two households that both began anew.
MOST_GUARDIANS = 6


class NotTied(Exception):
    """Nothing has changed; the message says what to do."""


@transaction.atomic
def link(
    swimmer: Swimmer, guardian: User, *, called: str, on: date, by: User, at: datetime
) -> Guardianship:
    """It waits for the guardian's own answer, and gives no sight before. Raises NotTied."""
    if swimmer.age(on) >= GROWN_UP:
        raise NotTied(
            _("%(name)s is 18 or older and needs no guardian here.") % {"name": swimmer.first_name}
        )
    if swimmer.user_id == guardian.pk:
        raise NotTied(_("This is the swimmer’s own address. Ask the guardian for theirs."))
    ties = swimmer.guardianships.filter(Q(ends=None) | Q(ends__gt=on))
    if ties.filter(guardian=guardian).exists():
        raise NotTied(_("This address belongs to a guardian of theirs already."))
    if ties.count() >= MOST_GUARDIANS:
        raise NotTied(
            _("%(name)s has %(count)s guardians. End the tie of one first.")
            % {"name": swimmer.first_name, "count": MOST_GUARDIANS}
        )
    tie = Guardianship.objects.create(
        guardian=guardian, swimmer=swimmer, starts=on, is_accepted=False, called=called
    )
    note(Entry.Action.MADE, tie, at=at, by=by, club=swimmer.club, swimmer=str(swimmer.code))
    return tie


@transaction.atomic
def end(tie: Guardianship, *, on: date, by: User, at: datetime) -> None:
    """What the guardian answered for the child counts until that day and no longer."""
    swimmer = tie.swimmer
    Guardianship.objects.filter(pk=tie.pk).update(ends=max(on, tie.starts))
    consenting.end_answers(swimmer, of=tie.guardian, on=on)
    note(Entry.Action.CHANGED, tie, at=at, by=by, club=swimmer.club, ends=on.isoformat())


def forget(tie: Guardianship, *, by: User, at: datetime) -> None:
    """A tie that nobody has answered and that should never have been, as to a wrong address."""
    waiting = Guardianship.objects.filter(pk=tie.pk, is_accepted=False)
    if not waiting.exists():
        raise NotTied(_("This guardian has answered by now. End the tie from a day instead."))
    note(Entry.Action.REMOVED, tie, at=at, by=by, club=tie.swimmer.club)
    waiting.delete()


def bar(tie: Guardianship, *, on: date, by: User, at: datetime) -> None:
    """Silently: no mail, no word on any page of theirs. Their answers stand, so that a no that
    keeps the child off film is not lost."""
    Guardianship.objects.filter(pk=tie.pk).update(barred_from=on)
    note(Entry.Action.CHANGED, tie, at=at, by=by, club=tie.swimmer.club, barred=on.isoformat())


def lift_bar(tie: Guardianship, *, by: User, at: datetime) -> None:
    Guardianship.objects.filter(pk=tie.pk).update(barred_from=None)
    note(Entry.Action.CHANGED, tie, at=at, by=by, club=tie.swimmer.club, barred="lifted")
