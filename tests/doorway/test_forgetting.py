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
    said = forget(f" {cast.coach.email.upper()}")

    assert "Removed: 2, and the recovery codes." in said
    assert not Authenticator.objects.exists()
    assert not UserSession.objects.exists()
    assert with_app.get("/sessions/").headers["Location"] == "/sign-in/?next=/sessions/"
    changed = Entry.objects.filter(action=Entry.Action.CHANGED).latest("pk")
    assert (changed.thing_code, changed.actor_code) == (cast.coach.code, None)
    assert changed.detail == {"what": "factors forgotten"}
    mail = OutgoingMail.objects.filter(kind=OutgoingMail.Kind.SECURITY).latest("pk")
    assert (mail.recipient, mail.state) == (cast.coach, OutgoingMail.State.DUE)
    assert "whoever runs the portal" in mail.text


def test_a_code_by_mail_opens_only_the_account(with_app: Client, cast: Cast):
    forget(cast.coach.email)

    come_in(with_app, cast.coach)

    assert with_app.get("/sessions/").headers["Location"] == "/you/"
    assert "code by mail is not enough" in with_app.get("/you/").content.decode()


def test_nobody_else_loses_anything(with_app: Client, cast: Cast):
    other = Client()
    come_in(other, cast.assistant)
    Authenticator.objects.create(user=cast.assistant, type=Authenticator.Type.TOTP, data={})

    forget(cast.coach.email)

    assert Authenticator.objects.get().user == cast.assistant
    assert other.get("/you/").status_code == 200


def test_an_unknown_address_is_refused(with_app: Client):
    with pytest.raises(CommandError, match=r"Nobody has the address 'nobody@example.org'"):
        forget("nobody@example.org")

    assert Authenticator.objects.count() == 3


def test_where_there_is_nothing_to_forget_it_says_so(client: Client, cast: Cast):
    come_in(client, cast.coach)

    with pytest.raises(CommandError, match="neither a passkey nor a code app"):
        forget(cast.coach.email)

    assert client.get("/you/").status_code == 200
    assert not OutgoingMail.objects.filter(kind=OutgoingMail.Kind.SECURITY).exists()
