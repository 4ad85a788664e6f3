"""A passkey, offered kindly after a code."""

from __future__ import annotations

from allauth.mfa.models import Authenticator
from django.test import Client

from portal.doorway import offering
from tests.cast import Cast
from tests.doorway.letters import ask_for_code, code_for, come_in, type_code


def test_it_works(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    asked = type_code(client, code_for(cast.guardian), next="/notes/").headers["Location"]
    assert asked == "/you/offer/?next=%2Fnotes%2F"
    assert "Next time without a code?" in client.get(asked).content.decode()

    later = client.post("/you/offer/", {"next": "/notes/"})

    assert later.headers["Location"] == "/notes/"
    assert later.cookies[offering.cookie()]["httponly"]
    client.post("/sign-out/")
    ask_for_code(client, cast.guardian.email)
    assert type_code(client, code_for(cast.guardian)).headers["Location"] == "/"


def test_no_passkey_is_offered_to_who_has_one_or_must_set_one_up(client: Client, cast: Cast):
    for user in (cast.guardian, cast.coach):
        if user == cast.guardian:
            Authenticator.objects.create(user=user, type=Authenticator.Type.WEBAUTHN, data={})
        client = Client()
        ask_for_code(client, user.email)
        assert type_code(client, code_for(user)).headers["Location"] == "/"


def test_the_offer_leads_nowhere_else(client: Client, cast: Cast):
    come_in(client, cast.guardian)
    assert client.post("/you/offer/", {"next": "//example.com/"}).headers["Location"] == "/"
