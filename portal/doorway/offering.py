"""A passkey, offered kindly once a code has been typed. "Later" holds for this browser."""

from __future__ import annotations

from datetime import timedelta

from allauth.mfa.models import Authenticator
from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

from portal.doorway import strengthening
from portal.people.access import actor_for
from portal.people.models import User

LATER = timedelta(days=180)


def is_due(request: HttpRequest, user: User) -> bool:
    """Not to those who must set something up: their account tells them."""
    if cookie() in request.COOKIES:
        return False
    if Authenticator.objects.filter(user=user, type=Authenticator.Type.WEBAUTHN).exists():
        return False
    has_role = actor_for(user, at=timezone.now()).has_role
    return not has_role or strengthening.has_factor(user)


def put_off(response: HttpResponseBase) -> None:
    response.set_cookie(
        cookie(),
        "1",
        max_age=LATER,
        secure=settings.IS_SECURE,
        httponly=True,
        samesite="Lax",
    )


def cookie() -> str:
    return "__Host-later" if settings.IS_SECURE else "flagline_later"
