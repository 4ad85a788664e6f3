"""A second factor for a person of the cast, as staff need one outside the demo."""

from __future__ import annotations

from allauth.mfa.totp.internal.auth import (
    TOTP,
    format_hotp_value,
    hotp_value,
    yield_hotp_counters_from_time,
)
from django.test import Client

from portal.doorway import strengthening
from portal.people.models import User

SECRET = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"


def give_app(user: User) -> None:
    """A code app with that secret."""
    TOTP.activate(user, SECRET)


def app_code(secret: str = SECRET) -> str:
    """What the app shows now."""
    return str(format_hotp_value(hotp_value(secret, next(iter(yield_hotp_counters_from_time())))))


def show_factor(client: Client) -> None:
    """As if whom `force_login` has signed in had used it."""
    session = client.session
    session[strengthening.KEY] = True
    session.save()
