"""Nobody shows a second factor with what a copy of the database holds."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.apps import apps
from django.contrib.sessions.models import Session
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from portal.doorway import hiding
from tests.cast import Cast
from tests.doorway.letters import come_in
from tests.factors import SECRET, app_code, give_app

migration = import_module("portal.doorway.migrations.0001_hide_secrets")
SEED = "5eed" * 20


def whole_database() -> str:
    """Every row of every table, and what sessions keep behind their coding."""
    tables = [list(model._base_manager.values()) for model in apps.get_models()]
    return str(tables) + str([row.get_decoded() for row in Session.objects.all()])


def test_it_works(client: Client, cast: Cast):
    come_in(client, cast.coach)
    secret = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})
    page = client.get("/you/recovery-codes/")
    [first, second, *_rest] = page.context["unused_codes"]

    everything = whole_database()

    app = Authenticator.objects.get(type=Authenticator.Type.TOTP)
    codes = Authenticator.objects.get(type=Authenticator.Type.RECOVERY_CODES)
    assert app.data["secret"] in everything
    assert hiding.reveal(app.data["secret"]) == secret
    for plain in (secret, hiding.reveal(codes.data["seed"]), first, second):
        assert plain not in everything
    client.post("/sign-out/")
    come_in(client, cast.coach)
    client.post("/sign-in/second/", {"code": first})
    assert client.get("/you/").status_code == 200
    assert first not in client.get("/you/recovery-codes/").context["unused_codes"]


def test_the_app_opens_the_door_with_a_hidden_secret(client: Client, cast: Cast):
    give_app(cast.coach)
    come_in(client, cast.coach)

    client.post("/sign-in/second/", {"code": app_code()})

    assert client.get("/you/").status_code == 200
    assert SECRET not in whole_database()


@given(st.text())
def test_what_is_hidden_comes_back(plain: str):
    hidden = hiding.hide(plain)

    assert hiding.is_hidden(hidden)
    assert hiding.reveal(hidden) == plain
    assert hidden != hiding.hide(plain)


def test_a_secret_that_was_changed_still_reveals_and_no_longer_hides(settings):
    before = settings.SECRET_KEY
    old = hiding.hide(SECRET)
    settings.SECRET_KEY = "lantern" * 10
    with pytest.raises(hiding.Unreadable, match="FLAGLINE_FORMER_SECRETS"):
        hiding.reveal(old)

    settings.SECRET_KEY_FALLBACKS = [before]

    assert hiding.reveal(old) == SECRET
    new = hiding.hide(SECRET)
    settings.SECRET_KEY_FALLBACKS = []
    assert hiding.reveal(new) == SECRET


def test_what_was_never_hidden_is_not_taken():
    for planted in (SECRET, hiding.MARK + SECRET, ""):
        with pytest.raises(hiding.Unreadable):
            hiding.reveal(planted)


def test_what_stood_there_in_clear_is_hidden_and_can_be_taken_back(cast: Cast):
    kinds = Authenticator.Type
    clear = {
        kinds.TOTP: {"secret": SECRET},
        kinds.RECOVERY_CODES: {"seed": SEED, "used_mask": 5},
        kinds.WEBAUTHN: {"name": "Phone", "credential": {}},
    }
    for kind, data in clear.items():
        Authenticator.objects.create(user=cast.coach, type=kind, data=data)

    migration.hide_all(apps, None)
    once = kept()
    migration.hide_all(apps, None)

    assert kept() == once
    assert hiding.reveal(once[kinds.TOTP]["secret"]) == SECRET
    codes = once[kinds.RECOVERY_CODES]
    assert (hiding.reveal(codes["seed"]), codes["used_mask"]) == (SEED, 5)
    assert once[kinds.WEBAUTHN] == clear[kinds.WEBAUTHN]
    assert SECRET not in whole_database()
    migration.reveal_all(apps, None)
    assert kept() == clear


def kept() -> dict[str, dict[str, Any]]:
    return {factor.type: factor.data for factor in Authenticator.objects.all()}
