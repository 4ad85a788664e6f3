"""The second factor, without which nobody of the staff gets further than the door."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from allauth.mfa.models import Authenticator
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect

from portal.people.http import Visit
from portal.people.models import User

KEY = "has second factor"
FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]
# Where somebody gets to without one: the door itself, and to whom a concern is told.
OPEN = ("portal.doorway.", "allauth.", "portal.kit.", "portal.openness.concern")


def has_factor(user: User) -> bool:
    """A passkey or a code app; whoever has one has been asked for it on the way in."""
    return Authenticator.objects.filter(user=user, type__in=FACTORS).exists()


class SecondFactorMiddleware:
    """Sends staff without a second factor to where they set one up."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: Visit, view: Callable[..., Any], _args: object, _values: object
    ) -> HttpResponseBase | None:
        if not settings.STAFF_FACTOR or view.__module__.startswith(OPEN):
            return None
        if not request.user.is_authenticated or request.session.get(KEY):
            return None
        actor = request.actor
        if not (actor.is_staff or actor.protects or actor.stands_in or actor.runs):
            return None
        if has_factor(request.user):
            request.session[KEY] = True
            return None
        return redirect("doorway:you")
