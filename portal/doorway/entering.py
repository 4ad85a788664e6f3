"""Signing in and out.

A known, an unknown and a suspended address get one answer, after one and the same work, and every
try counts the same. So the door does not tell who is in the club.
"""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime

from allauth.account.internal.flows.login import get_authentication_records
from allauth.usersessions.models import UserSession
from django.contrib.auth import login, logout
from django.http import HttpRequest

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import listing, staying, strengthening
from portal.kit import forwarding
from portal.kit.counting import one_more
from portal.people import recent
from portal.people.models import User

# At one account from one place, and from wherever: a pest elsewhere shuts nobody out at once.
MOST_TRIES = 10
MOST_AT_AN_ACCOUNT = 30
# A whole club may come in over the one line of a pool; a list of names takes longer.
MOST_FROM_A_PLACE = 200
MINUTES = 15
NOBODY = uuid.UUID(int=0)


def may_try(request: HttpRequest, name: str) -> bool:
    """Counts this try. The place first: whoever tries many names there is counted under no more
    of them. Without a cache nobody is counted and nobody is shut out."""
    name, place = name.strip().lower(), forwarding.client(request)
    return (
        may_try_from_here(request)
        and _tries(name, place) <= MOST_TRIES
        and _tries(name) <= MOST_AT_AN_ACCOUNT
    )


def may_try_from_here(request: HttpRequest) -> bool:
    """For steps that are bound to something else already, such as the three tries of a code."""
    return _tries("place", forwarding.client(request)) <= MOST_FROM_A_PLACE


def may_try_second_step(user: User) -> bool:
    """Wherever from: whoever is here has shown a first factor, and a code app's six digits can be
    guessed by asking often enough."""
    return _tries("second step", user.code.hex) <= MOST_TRIES


def refuse(user: User | None, *, at: datetime, way: str) -> None:
    """Notes it. None, for an address that nobody has, costs the same row."""
    note(Entry.Action.REFUSED, user or User(code=NOBODY), at=at, by=None, way=way)


def look_up(user: User | None) -> None:
    """Coming back to a code that was asked for reads the account of a known address. None, for one
    that nobody has, costs the same look."""
    if user is None:
        User.objects.filter(pk=0).first()


def welcome(request: HttpRequest, user: User, *, at: datetime) -> None:
    """Open a session for somebody who needs no proof: a person of the demo club."""
    login(request, user)
    strengthening.show(request)
    UserSession.objects.create_from_request(request)
    settle(request, user, at=at)


def settle(request: HttpRequest, user: User, *, at: datetime) -> None:
    """What a session that has just begun is given, and the note of it."""
    listing.sweep(user, at=at)
    staying.begin(request, user, at=at)
    recent.mark(request, at=at)
    ways = get_authentication_records(request, user)
    if any(each["method"] == "mfa" for each in ways):
        strengthening.show(request)
    said = [str(each.get("type", each["method"])) for each in ways]
    note(Entry.Action.SIGNED_IN, user, at=at, by=user, way=" + ".join(said) or "demo")


def leave(request: HttpRequest, *, at: datetime) -> None:
    """Signing out twice is signing out once."""
    user = request.user
    logout(request)
    if isinstance(user, User):
        note(Entry.Action.SIGNED_OUT, user, at=at, by=user)


def _tries(*names: str) -> int:
    """With this one; neither addresses nor places enter the cache as they are."""
    key = "door:" + hashlib.sha256(" ".join(names).encode()).hexdigest()
    return one_more(key, within=MINUTES * 60)
