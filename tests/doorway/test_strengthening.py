"""The second factor: who needs one, how it is set up, shown and lost."""

from __future__ import annotations

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client
from django.urls import resolve

from portal.audit.models import Entry
from portal.doorway import entering, strengthening
from portal.mailroom.models import OutgoingMail
from portal.people.models import User
from tests.cast import Cast
from tests.doorway.letters import come_in
from tests.factors import app_code
from tests.test_access import address_of, rows
from tests.world import build

CODES = "/you/recovery-codes/"


@pytest.fixture
def ada(client: Client, cast: Cast) -> User:
    come_in(client, cast.guardian)
    return cast.guardian


def test_staff_without_a_second_factor_get_no_further_than_their_account(
    client: Client, cast: Cast, settings
):
    settings.STAFF_FACTOR = True
    for name in ("coach", "head_coach", "assistant", "welfare", "volunteer", "second_recipient"):
        come_in(client, getattr(cast, name))
        for page in ("/", "/sessions/", "/cases/", f"/swimmers/{cast.swimmer.code}/"):
            assert client.get(page).headers["Location"] == "/you/", (name, page)
        assert "code by mail is not enough" in client.get("/you/").content.decode()
        assert client.get("/concern/").status_code == 200
        client.post("/sign-out/")


def test_families_need_none(client: Client, ada: User, settings):
    settings.STAFF_FACTOR = True

    assert client.get("/notes/").status_code == 200


def test_a_code_app_is_set_up_and_asked_for(
    client: Client, cast: Cast, settings, django_capture_on_commit_callbacks
):
    settings.STAFF_FACTOR = True
    come_in(client, cast.coach)
    page = client.get("/you/app/")
    secret = page.context["form"].secret
    assert secret in page.content.decode()

    with django_capture_on_commit_callbacks(execute=True):
        done = client.post("/you/app/", {"code": app_code(secret)})

    assert done.headers["Location"] == "/you/recovery-codes/"
    assert client.get("/").status_code == 200
    assert "code app was set up" in OutgoingMail.objects.get(kind="security notice").text
    codes = client.get("/you/recovery-codes/").context["unused_codes"]
    client.post("/sign-out/")

    assert come_in(client, cast.coach).headers["Location"] == "/sign-in/second/"
    assert client.get("/").status_code == 302
    wrong = client.post("/sign-in/second/", {"code": "000000"})
    assert "wrongly" in wrong.content.decode()
    client.post("/sign-in/second/", {"code": codes[0]})
    assert client.get("/").status_code == 200
    ways = Entry.objects.filter(action=Entry.Action.SIGNED_IN).latest("pk").detail["way"]
    assert ways == "code + recovery_codes"
    refused = Entry.objects.get(action=Entry.Action.REFUSED)
    assert (refused.thing_code, refused.detail) == (cast.coach.code, {"way": "second step"})


def test_the_second_step_cannot_be_tried_for_ever(client: Client, cast: Cast):
    come_in(client, cast.coach)
    secret = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})
    client.post("/sign-out/")
    come_in(client, cast.coach)
    for _ in range(10):
        assert client.post("/sign-in/second/", {"code": "000000"}).status_code == 200

    assert client.post("/sign-in/second/", {"code": app_code(secret)}).status_code == 429


def add_app(client: Client) -> str:
    secret: str = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})
    return secret


def test_removing_the_app_shuts_the_portal_again(client: Client, cast: Cast, settings):
    settings.STAFF_FACTOR = True
    come_in(client, cast.coach)
    add_app(client)
    other = Client()
    come_in(other, cast.coach)
    other.post("/sign-in/second/", {"code": client.get(CODES).context["unused_codes"][0]})
    for each in (client, other):
        assert each.get("/sessions/").status_code == 200

    assert client.get("/you/app/remove/").status_code == 200
    client.post("/you/app/remove/")

    assert not Authenticator.objects.exists()
    assert client.get("/sessions/").headers["Location"] == "/you/"
    assert other.get("/sessions/").headers["Location"].startswith("/sign-in/")
    removed = Entry.objects.filter(detail={"what": "totp_deactivated"})
    assert [row.actor_code for row in removed] == [cast.coach.code]


def test_a_session_from_before_the_factor_stays_outside(client: Client, cast: Cast, settings):
    """Somebody reads the coach's mail and signs in before the coach has set anything up."""
    settings.STAFF_FACTOR = True
    thief = Client()
    come_in(thief, cast.coach)
    come_in(client, cast.coach)
    add_app(client)
    assert client.get("/sessions/").status_code == 200

    assert thief.get("/sessions/").headers["Location"] == "/sign-in/again/?next=%2Fsessions%2F"
    for page in ("/you/passkeys/add/", "/you/app/remove/", "/you/password/", CODES):
        answer = thief.get(page)
        assert answer.headers["Location"].startswith("/sign-in/again/"), page
    thief.post("/you/app/remove/")
    assert Authenticator.objects.filter(type=Authenticator.Type.TOTP).exists()


def test_every_page_is_shut_to_staff_without_a_second_factor(client: Client, cast: Cast, settings):
    """But the door's own, and where a concern is told; asked of each address that there is."""
    settings.STAFF_FACTOR = True
    codes = build(cast)
    client.force_login(cast.head_coach)
    shut = set()
    for row in rows():
        address = address_of(row["url"], codes)
        answer = client.generic(row["method"], address)
        if not resolve(address).func.__module__.startswith(strengthening.OPEN):
            assert answer.headers.get("Location") == "/you/", row["url"]
            shut.add(row["url"])
        if row["url"] == "doorway:sign_out":
            client.force_login(cast.head_coach)

    assert len(shut) > 60


def test_a_parents_passkey_is_no_second_lock(client: Client, ada: User, settings):
    settings.STAFF_FACTOR = True
    Authenticator.objects.create(user=ada, type=Authenticator.Type.WEBAUTHN, data={})
    client.post("/sign-out/")

    come_in(client, ada)

    assert client.get("/notes/").status_code == 200
    assert client.get("/you/password/").status_code == 200


def test_a_stranger_passkey_is_refused_calmly(client: Client, db):
    options = client.get("/sign-in/passkey/", headers={"Accept": "application/json"}).json()
    assert options["request_options"]["publicKey"]["userVerification"] == "required"

    answer = client.post("/sign-in/passkey/?next=/notes/", {"credential": "{}"}, follow=True)

    assert answer.redirect_chain == [("/sign-in/?next=%2Fnotes%2F", 302)]
    assert "The passkey was not taken." in answer.content.decode()
    refused = Entry.objects.get(action=Entry.Action.REFUSED)
    assert (refused.thing_code, refused.detail) == (entering.NOBODY, {"way": "passkey"})
