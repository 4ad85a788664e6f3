"""Somebody lost their phone and their recovery codes, and begins anew with a code by mail."""

from __future__ import annotations

from io import StringIO

import pytest
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.core.management import CommandError, call_command
from django.test import Client

from portal.audit.models import Entry
from portal.mailroom.models import OutgoingMail
from tests.cast import Cast
from tests.doorway.letters import come_in
from tests.factors import app_code


def forget(address: str) -> str:
    out = StringIO()
    call_command("forget_factor", address, stdout=out)
    return out.getvalue()


@pytest.fixture
def with_app(client: Client, cast: Cast, settings) -> Client:
    """The coach, signed in, with a code app, a passkey and recovery codes."""
    settings.STAFF_FACTOR = True
    come_in(client, cast.coach)
    secret = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})
    Authenticator.objects.create(user=cast.coach, type=Authenticator.Type.WEBAUTHN, data={})
    assert client.get("/sessions/").status_code == 200
    return client


def test_it_works(with_app: Client, cast: Cast):
    said = forget(" Marta.LIND@example.org" if cast.coach.email.startswith("marta") else "")

    assert "Removed: 2" in said
    assert not Authenticator.objects.filter(user=cast.coach).exists()
    assert not UserSession.objects.filter(user=cast.coach).exists()
    assert with_app.get("/sessions/").headers["Location"] == "/sign-in/?next=/sessions/"


