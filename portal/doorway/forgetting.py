"""A phone and the recovery codes are lost: what an account was asked for is forgotten, so that
its owner comes in by a code and sets up anew what staff need.

Only from the shell. Whoever could do it from a page would only have to talk somebody into it.
"""

from __future__ import annotations

from datetime import datetime

from allauth.mfa.models import Authenticator
from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import listing, mailing
from portal.people.models import User


class NothingToForget(Exception):
    """The account has neither a passkey nor a code app."""


@transaction.atomic
def forget_factors(user: User, *, at: datetime) -> int:
    """How many there were, recovery codes not counted. Ends all sessions: one of them may be on
    the phone that was lost. Raises NothingToForget."""
    kept = Authenticator.objects.filter(user=user)
    count = kept.exclude(type=Authenticator.Type.RECOVERY_CODES).count()
    if not count:
        raise NothingToForget
    kept.delete()
    listing.end_others(user, this=None)
    note(Entry.Action.CHANGED, user, at=at, by=None, what="factors forgotten")
    mailing.tell_of_change(user, "factors forgotten", at=at)
    return count
