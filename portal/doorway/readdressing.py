"""Another address to sign in with: it becomes theirs who read the code that was sent there.

An address that somebody has already gets the same answer, after the same work, and no mail. So
nobody learns here either who is in a club.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from allauth.account.adapter import get_adapter
from allauth.core.internal.cryptokit import normalize_user_code
from django.db import IntegrityError, transaction
from django.utils.crypto import constant_time_compare, salted_hmac

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import entering, listing, mailing
from portal.people.http import Request
from portal.people.models import User

KEY = "new address"
LIFE = timedelta(minutes=15)
MOST_WRONG = 3


class Wrong(Exception):
    """Not the code that was sent."""

    def __init__(self, left: int) -> None:
        super().__init__(f"{left} tries left")
        self.left = left


class Spent(Exception):
    """All tries were wrong, so the code opens nothing any more."""


class Taken(Exception):
    """Somebody else has got the address since the code was sent."""


def ask(request: Request, email: str) -> None:
    """Send a code there. The session keeps what it is known by, so only this browser can type it,
    and an earlier one is forgotten."""
    code, is_free = get_adapter().generate_login_code(), not _is_taken(email)
    mailing.send_to_new_address(request.user, email, code=code, at=request.now, is_free=is_free)
    request.session[KEY] = {
        "email": email,
        "code": _sign(code),
        "at": request.now.timestamp(),
        "wrong": 0,
    }


def asked_for(request: Request) -> str:
    """The address that waits for its code; empty if there is none, or no longer."""
    kept = request.session.get(KEY)
    if not kept or request.now.timestamp() - kept["at"] >= LIFE.total_seconds():
        return ""
    return str(kept["email"])


def take(request: Request, code: str) -> None:
    """Raises Wrong, Spent or Taken. All other sessions end: who reads the old address may have
    opened them."""
    kept = request.session[KEY]
    if not constant_time_compare(kept["code"], _sign(code)):
        _count(request)
    del request.session[KEY]
    _change(request.user, kept["email"], at=request.now)
    listing.end_others(request.user, this=request.session.session_key)


def _count(request: Request) -> None:
    entering.refuse(request.user, at=request.now, way="new address")
    kept = request.session[KEY]
    left = MOST_WRONG - kept["wrong"] - 1
    if not left:
        del request.session[KEY]
        raise Spent
    request.session[KEY] = {**kept, "wrong": kept["wrong"] + 1}
    raise Wrong(left)


def _change(user: User, email: str, *, at: datetime) -> None:
    """The old address is told, while the account still has it."""
    try:
        with transaction.atomic():
            mailing.tell_of_change(user, "address", at=at)
            User.objects.filter(pk=user.pk).update(email=email)
            note(Entry.Action.CHANGED, user, at=at, by=user, what="address")
    except IntegrityError as error:
        raise Taken from error


def _is_taken(email: str) -> bool:
    return User.objects.filter(email=email).exists()


def _sign(code: str) -> str:
    return salted_hmac(KEY, normalize_user_code(code)).hexdigest()
