"""How long somebody stays signed in, by what they are to a club; minded on the server.

Staff see all children's film and sign in daily; families read once a week.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.access import actor_for
from portal.people.ages import GROWN_UP
from portal.people.models import User

KEY = "stay"
# Of the idle limit: how often a session is written to say that somebody is still there.
GRAIN = 24


@dataclass(frozen=True)
class Stay:
    idle: timedelta
    most: timedelta


STAFF = Stay(idle=timedelta(hours=12), most=timedelta(days=30))
FAMILY = Stay(idle=timedelta(days=30), most=timedelta(days=90))
MINOR = Stay(idle=timedelta(days=14), most=timedelta(days=14))


def begin(request: HttpRequest, user: User, *, at: datetime) -> None:
    stay, now = _stay_of(user, at=at), at.timestamp()
    request.session[KEY] = {"began": now, "seen": now, **_limits(stay)}
    request.session.set_expiry(stay.most)


def shorten(request: HttpRequest) -> None:
    """To what staff have, for somebody who has become one of them. Once, and then nothing."""
    stay = request.session.get(KEY)
    if stay and stay["idle"] > STAFF.idle.total_seconds():
        request.session[KEY] = {**stay, **_limits(STAFF)}


def is_over(stay: Mapping[str, float], *, at: datetime) -> bool:
    now = at.timestamp()
    return now - stay["seen"] > stay["idle"] or now - stay["began"] > stay["most"]


def _limits(stay: Stay) -> dict[str, float]:
    return {"idle": stay.idle.total_seconds(), "most": stay.most.total_seconds()}


def _stay_of(user: User, *, at: datetime) -> Stay:
    if actor_for(user, at=at).has_role:
        return STAFF
    own = getattr(user, "swimmer", None)
    is_minor = own is not None and own.age(own.club.day(at)) < GROWN_UP
    return MINOR if is_minor else FAMILY


class StayMiddleware:
    """Ends a session that has been idle or open for too long."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        stay = request.session.get(KEY)
        if stay:
            at = timezone.now()
            if is_over(stay, at=at):
                self._end(request, at=at)
            # A page that lies open asks by HEAD whether its film may still be seen, and nobody
            # needs to be there for that.
            elif request.method != "HEAD" and at.timestamp() - stay["seen"] > stay["idle"] / GRAIN:
                request.session[KEY] = {**stay, "seen": at.timestamp()}
        return self.get_response(request)

    def _end(self, request: HttpRequest, *, at: datetime) -> None:
        user = request.user
        logout(request)
        if isinstance(user, User):
            note(Entry.Action.SIGNED_OUT, user, at=at, by=None, way="time")
