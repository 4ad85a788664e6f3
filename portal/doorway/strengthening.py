"""The second factor, without which nobody with a role in a club gets further than the door.

What counts is that this session has shown one, not that the account has one: a session from
before the first factor, opened perhaps by somebody who reads the mail, stays outside.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from allauth.mfa.models import Authenticator
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect

from portal.doorway import listing, staying
from portal.doorway.leading import towards
from portal.people import recent
from portal.people.access import actor_for
from portal.people.http import Request, Visit
from portal.people.models import User

KEY = "second factor shown"
FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]
# Where somebody gets to without one: the door itself, and to whom a concern is told.
OPEN = ("portal.doorway.", "allauth.", "portal.kit.", "portal.openness.concern")


def has_factor(user: User) -> bool:
    """A passkey or a code app."""
    return Authenticator.objects.filter(user=user, type__in=FACTORS).exists()


def is_asked(user: User, *, at: datetime) -> bool:
    """For a second step on the way in. A family's passkey is a quick way in and no second lock:
    a code by mail opens as it did before, and a lost phone shuts nobody out."""
    has_role = actor_for(user, at=at).has_role
    types = FACTORS if has_role else [Authenticator.Type.TOTP]
    return Authenticator.objects.filter(user=user, type__in=types).exists()


def show(request: HttpRequest) -> None:
    """In this session one was used, or was set up."""
    request.session[KEY] = True


def has_shown(request: HttpRequest) -> bool:
    return bool(request.session.get(KEY))


def lose(request: Request) -> None:
    """One was removed. With the last, no session of the account has one to show."""
    if not has_factor(request.user):
        request.session.pop(KEY, None)
        listing.end_others(request.user, this=request.session.session_key)


def again(request: Visit) -> str:
    """Where somebody signs in once more, with all steps, and comes back."""
    return towards("doorway:again", onward=recent.page_of(request))


class SecondFactorMiddleware:
    """Sends whoever has a role to where a second factor is shown, or set up.

    A role may have been given since somebody signed in as a parent: their session then lasts no
    longer than that of staff.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: Visit, view: Callable[..., Any], _args: object, _values: object
    ) -> HttpResponseBase | None:
        if view.__module__.startswith(OPEN) or not request.user.is_authenticated:
            return None
        if not request.actor.has_role:
            return None
        staying.shorten(request)
        if has_shown(request) or not settings.STAFF_FACTOR:
            return None
        if has_factor(request.user):
            return redirect(again(request))
        return redirect("doorway:you")
