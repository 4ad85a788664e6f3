"""Signing in and out.

An unknown address, a wrong password and a suspended account get one answer, after one and the
same work (Django hashes the password even when there is nobody to compare it with), and every
try counts the same. So the door does not tell who is in the club.
"""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.contrib.auth import authenticate, login, logout
from django.core.cache import cache
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit import forwarding
from portal.people.models import User

MOST_TRIES = 10
# A whole club may come in over the one line of a pool; a list of names takes longer.
MOST_FROM_A_PLACE = 200
MINUTES = 15


class Refused(Exception):
    """Nobody was signed in; the message says what to do."""


class NotRecognised(Refused):
    pass


class TooManyTries(Refused):
    pass


def enter(request: HttpRequest, *, email: str, password: str, at: datetime) -> None:
    place = forwarding.client(request)
    tries = _count_of(email.strip().lower(), place)
    # The place first: whoever tries many names there is counted under no more of them.
    if _one_more(_count_of(place)) > MOST_FROM_A_PLACE or _one_more(tries) > MOST_TRIES:
        raise TooManyTries(
            _("Too many tries. Wait %(minutes)s minutes, then try again. Your account is safe.")
            % {"minutes": MINUTES}
        )
    user = authenticate(request, username=email, password=password)
    if not isinstance(user, User):
        raise NotRecognised(
            _(
                "This address and this password do not belong together. "
                "Try again, or ask your club for a new password. Nothing was changed."
            )
        )
    cache.delete(tries)
    welcome(request, user, at=at)


def welcome(request: HttpRequest, user: User, *, at: datetime) -> None:
    """Open a session for somebody who has proved who they are."""
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    note(Entry.Action.SIGNED_IN, user, at=at, by=user)


def leave(request: HttpRequest, *, at: datetime) -> None:
    """Signing out twice is signing out once."""
    user = request.user
    logout(request)
    if isinstance(user, User):
        note(Entry.Action.SIGNED_OUT, user, at=at, by=user)


def onward(wanted: str) -> str:
    """Where somebody wanted to go, if it is a page of ours; otherwise nothing."""
    is_path = wanted.startswith("/") and wanted.isprintable()
    is_ours = is_path and url_has_allowed_host_and_scheme(wanted, allowed_hosts=None)
    return wanted if is_ours else ""


def _count_of(*names: str) -> str:
    """Under which a count stands; neither addresses nor places enter the cache as they are."""
    return "door:" + hashlib.sha256(" ".join(names).encode()).hexdigest()


def _one_more(tries: str) -> int:
    cache.add(tries, 0, MINUTES * 60)
    try:
        return cache.incr(tries)
    except ValueError:
        # It ran out between the two lines.
        return 1
