"""Shutting somebody out of a club, and letting them back in. It holds from the next request on:
every tie to the club is asked anew each time, and a suspended person has none."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Club, Suspension, User


class Refused(Exception):
    """Why it cannot be done; the message is for people."""


def suspend(user: User, *, club: Club, by: User, at: datetime) -> Suspension:
    """Ties to other clubs stay as they are."""
    if user == by:
        raise Refused(_("You cannot suspend yourself. The second recipient of concerns can."))
    try:
        with transaction.atomic():
            suspension = Suspension.objects.create(user=user, club=club, by=by, at=at)
    except IntegrityError as error:
        raise Refused(_("%(name)s is suspended already.") % {"name": user.name}) from error
    note(Entry.Action.MADE, suspension, at=at, by=by, club=club, user=str(user.code))
    return suspension


def lift(suspension: Suspension, *, by: User, at: datetime) -> bool:
    """False: it was lifted before. Nobody lifts their own."""
    if suspension.user == by:
        raise Refused(_("You cannot lift your own suspension."))
    standing = Suspension.objects.filter(pk=suspension.pk, lifted_at=None)
    if not standing.update(lifted_at=at, lifted_by=by):
        return False
    user = str(suspension.user.code)
    note(Entry.Action.CHANGED, suspension, at=at, by=by, club=suspension.club, user=user)
    return True
