"""Signing in and out.

A known, an unknown and a suspended address get one answer, after one and the same work, and every
try counts the same. So the door does not tell who is in the club.
"""

from __future__ import annotations

import hashlib
from datetime import datetime

from allauth.account.internal.flows.login import get_authentication_records
from django.contrib.auth import login, logout
from django.core.cache import cache
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import staying
from portal.kit import forwarding
from portal.people import recent
from portal.people.models import User

MOST_TRIES = 10
# A whole club may come in over the one line of a pool; a list of names takes longer.
MOST_FROM_A_PLACE = 200
MINUTES = 15


def may_try(request: HttpRequest, name: str) -> bool:
    """Counts this try. The place first: whoever tries many names there is counted under no more
    of them. Without a cache nobody is counted and nobody is shut out."""
    place = forwarding.client(request)
    if _one_more(_count_of(place)) > MOST_FROM_A_PLACE:
        return False
    return _one_more(_count_of(name.strip().lower(), place)) <= MOST_TRIES


def welcome(request: HttpRequest, user: User, *, at: datetime) -> None:
    """Open a session for somebody who needs no proof: a person of the demo club."""
    login(request, user)
    settle(request, user, at=at)


def settle(request: HttpRequest, user: User, *, at: datetime) -> None:
    """What a session that has just begun is given, and the note of it."""
    staying.begin(request, user, at=at)
    recent.mark(request, at=at)
    ways = [str(record["method"]) for record in get_authentication_records(request, user)]
    note(Entry.Action.SIGNED_IN, user, at=at, by=user, way=" + ".join(ways) or "demo")


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
        return cache.incr(tries) or 1
    except ValueError:
        # It ran out between the two lines.
        return 1
