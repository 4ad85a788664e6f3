"""Another address to sign in with: a code goes there, and the old one is told."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from allauth.usersessions.models import UserSession
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.audit.models import Entry
from portal.doorway import entering, readdressing
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people import recent
from portal.people.models import User
from tests.cast import Cast
from tests.doorway.letters import ask_for_code, code_for, come_in, is_in, seen, type_code

NEW = "ada.at.the.lake@example.org"
ASK, TYPE = "/you/address/", "/you/address/code/"


@pytest.fixture
def ada(client: Client, cast: Cast) -> User:
    come_in(client, cast.guardian)
    return cast.guardian


def ask(client: Client, email: str = NEW):
    return client.post(ASK, {"email": email})


def typed(client: Client, code: str):
    return client.post(TYPE, {"code": code})


def back(client: Client, key: str, by: timedelta) -> None:
    """As if so much time had passed since."""
    session = client.session
    kept = session[key]
    if isinstance(kept, dict):
        session[key] = {**kept, "at": kept["at"] - by.total_seconds()}
    else:
        session[key] = kept - by.total_seconds()
    session.save()


def test_it_works(client: Client, ada: User):
    old = ada.email
    assert client.get(ASK).status_code == 200
    assert ask(client, f" {NEW.title()}").headers["Location"] == TYPE
    there = OutgoingMail.objects.latest("pk")
    assert (there.address, there.recipient, there.kind) == (NEW, ada, OutgoingMail.Kind.CODE)
    assert "http" not in there.text + there.html
    assert NEW in client.get(TYPE).content.decode()
    ada.refresh_from_db()
    assert ada.email == old

    done = typed(client, code_for(ada).lower().replace("-", ""))

    assert done.headers["Location"] == "/you/"
    ada.refresh_from_db()
    assert ada.email == NEW
    assert NEW in client.get("/you/").content.decode()
    told = OutgoingMail.objects.get(kind=OutgoingMail.Kind.SECURITY)
    assert (told.address, told.recipient) == (old, ada)
    assert "The account got another address" in told.text
    assert NEW not in told.text + told.html
    changed = Entry.objects.filter(action=Entry.Action.CHANGED).latest("pk")
    assert (changed.thing_code, changed.actor_code) == (ada.code, ada.code)
    assert changed.detail == {"what": "address"}


def test_only_the_new_address_opens_the_door(client: Client, ada: User):
    old = ada.email
    ask(client)
    typed(client, code_for(ada))
    client.post("/sign-out/")
    mails = OutgoingMail.objects.count()

    ask_for_code(client, old)
    assert OutgoingMail.objects.count() == mails
    ask_for_code(Client(), NEW)
    assert OutgoingMail.objects.latest("pk").address == NEW


def test_other_sessions_end(client: Client, ada: User):
    other = Client()
    come_in(other, ada)
    ask(client)

    typed(client, code_for(ada))

    assert not is_in(other)
    assert client.get("/notes/").status_code == 200
    assert UserSession.objects.filter(user=ada).count() == 1


def test_a_code_that_went_to_the_old_address_opens_nothing_afterwards(client: Client, ada: User):
    thief = Client()
    ask_for_code(thief, ada.email)
    to_the_old = code_for(ada)
    ask(client)
    typed(client, code_for(ada))

    answer = type_code(thief, to_the_old)

    assert answer.headers["Location"] == "/sign-in/"
    assert "That code opens nothing" in thief.get("/sign-in/").content.decode()
    assert not is_in(thief)


def test_an_address_that_somebody_has_gets_the_same_answer_and_no_mail(
    client: Client, ada: User, cast: Cast
):
    free = [seen(ask(client)), seen(client.get(TYPE)), seen(typed(client, "AAAA-AAAA"))]
    mails, jobs = OutgoingMail.objects.count(), Job.objects.count()

    answers = [ask(client, cast.coach.email), client.get(TYPE), typed(client, "AAAA-AAAA")]

    taken = [seen(answer).replace(cast.coach.email, NEW) for answer in answers]
    assert taken == free
    assert (OutgoingMail.objects.count(), Job.objects.count()) == (mails, jobs)


def test_an_address_that_somebody_has_costs_the_same_questions(
    client: Client, ada: User, cast: Cast
):
    """But for the taking back."""
    asked = {}
    for email in (NEW, cast.coach.email):
        with CaptureQueriesContext(connection) as queries:
            ask(client, email)
        words = [re.sub(r"'[^']*'|\d+", "", q["sql"])[:80] for q in queries]
        asked[email] = [said for said in words if "SAVEPOINT" not in said]

    assert asked[NEW] == asked[cast.coach.email]


def test_an_address_that_somebody_took_meanwhile(client: Client, ada: User):
    old = ada.email
    ask(client)
    User.objects.create_user(NEW, name="Quick Neighbour")

    assert typed(client, code_for(ada)).headers["Location"] == ASK
    assert "That code opens nothing" in client.get(ASK).content.decode()
    ada.refresh_from_db()
    assert ada.email == old
    assert not OutgoingMail.objects.filter(kind=OutgoingMail.Kind.SECURITY).exists()
    assert not Entry.objects.filter(action=Entry.Action.CHANGED).exists()


def test_three_wrong_codes_end_it(client: Client, ada: User):
    ask(client)
    assert "Two tries left." in typed(client, "AAAA-AAAA").content.decode()
    assert "The code is missing." in typed(client, "").content.decode()
    assert "One try left." in typed(client, "AAAA-AAAA").content.decode()

    assert typed(client, "AAAA-AAAA").headers["Location"] == ASK

    assert "Three tries were wrong" in client.get(ASK).content.decode()
    assert typed(client, code_for(ada)).headers["Location"] == ASK
    ada.refresh_from_db()
    assert ada.email != NEW
    refused = Entry.objects.filter(action=Entry.Action.REFUSED)
    assert [row.detail for row in refused] == [{"way": "new address"}] * 3


def test_a_code_works_for_a_quarter_of_an_hour_and_in_its_browser(client: Client, ada: User):
    ask(client)
    other = Client()
    come_in(other, ada)
    there = OutgoingMail.objects.get(address=NEW)
    code = re.findall(r"\b\w{4}-\w{4}\b", there.text)[0]
    assert typed(other, code).headers["Location"] == ASK
    back(client, readdressing.KEY, timedelta(minutes=15))

    assert client.get(TYPE).headers["Location"] == ASK
    assert typed(client, code).headers["Location"] == ASK
    assert "That code opens nothing" in client.get(ASK).content.decode()
    ada.refresh_from_db()
    assert ada.email != NEW


def test_the_session_keeps_no_code(client: Client, ada: User):
    ask(client)

    assert code_for(ada) not in str(client.session.items())
    assert code_for(ada).replace("-", "") not in str(client.session.items())


def test_it_needs_a_sign_in_of_the_last_minutes(client: Client, ada: User):
    ask(client)
    code = code_for(ada)
    back(client, recent.KEY, timedelta(minutes=16))

    for answer in (client.get(ASK), ask(client), client.get(TYPE), typed(client, code)):
        assert answer.headers["Location"].startswith("/sign-in/again/")
    ada.refresh_from_db()
    assert ada.email != NEW


def test_ten_addresses_an_hour(client: Client, ada: User):
    for number in range(10):
        assert ask(client, f"ada{number}@example.org").status_code == 302

    assert ask(client).status_code == 429
    assert OutgoingMail.objects.filter(address=NEW).count() == 0


@pytest.mark.parametrize(
    ("email", "said"),
    [
        ("", "The address is missing."),
        ("ada", "not a whole address"),
        ("Ada.Falk@example.org", "the address that you have"),
    ],
)
def test_what_is_wrong_is_said(client: Client, ada: User, email: str, said: str):
    page = ask(client, email).content.decode()

    assert said in page
    assert 'aria-invalid="true"' in page
    assert not OutgoingMail.objects.filter(address=NEW).exists()


def test_nobody_is_named_for_a_refusal_but_oneself(client: Client, ada: User):
    ask(client)
    typed(client, "AAAA-AAAA")

    row = Entry.objects.get(action=Entry.Action.REFUSED)
    assert row.thing_code == ada.code != entering.NOBODY
