"""The way in by code or password, and that the door tells nobody who is a member."""

from __future__ import annotations

import re
import time

import pytest
from django.conf import settings
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.audit.models import Entry
from portal.doorway import entering
from portal.jobs.models import Job
from portal.mailroom import sending
from portal.mailroom.models import OutgoingMail
from portal.people.models import User
from tests.cast import NOW, Cast
from tests.doorway.letters import (
    ask_for_code,
    by_password,
    code_for,
    come_in,
    is_in,
    seen,
    type_code,
)

# What a question is about, for two that differ in what they look for.
TABLE = re.compile(r"(FROM|INSERT INTO|UPDATE) \"?\w+")


def test_it_works(client: Client, cast: Cast):
    response = ask_for_code(client, cast.guardian.email)
    assert response.headers["Location"] == "/sign-in/code/"
    assert not is_in(client)

    response = type_code(client, code_for(cast.guardian))

    assert (response.status_code, response.headers["Location"]) == (302, "/you/offer/?next=%2F")
    assert client.session["_auth_user_id"] == str(cast.guardian.pk)
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_IN)
    assert entry.actor_code == entry.thing_code == cast.guardian.code
    assert entry.detail == {"way": "code"}


def test_the_mail_has_no_link_and_is_sent_by_a_job(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)

    mail = OutgoingMail.objects.get()
    assert "http" not in mail.text + mail.html
    assert mail.subject == "Your sign-in code"
    assert mail.club is None
    said = f"{cast.club}. Report a concern: {cast.welfare.email}"
    assert said in mail.text
    assert said in mail.html
    assert Job.objects.get().payload == {"mail": str(mail.code)}


def test_a_code_that_was_sent_is_kept_nowhere(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    code, mail = code_for(cast.guardian), OutgoingMail.objects.get()

    sending.send(mail, at=NOW)

    mail.refresh_from_db()
    assert mail.state == OutgoingMail.State.SENT
    assert (mail.text, mail.html) == ("", "")
    assert code not in str(list(Job.objects.values())) + str(list(Entry.objects.values()))


@pytest.mark.parametrize("typed", [str.lower, lambda code: code.replace("-", ""), str.strip])
def test_however_it_is_typed(client: Client, cast: Cast, typed):
    ask_for_code(client, cast.guardian.email)
    type_code(client, typed(code_for(cast.guardian)))

    assert is_in(client)


def test_capitals_and_spaces_in_the_address(client: Client, cast: Cast):
    ask_for_code(client, " Ada.FALK@example.org ")
    type_code(client, code_for(cast.guardian))

    assert is_in(client)


@pytest.mark.parametrize("email", ["ada.falk@example.org", "nobody@example.org"])
def test_a_wrong_code_is_told_and_the_third_ends_it(client: Client, cast: Cast, email: str):
    ask_for_code(client, email)
    assert "Two tries left." in type_code(client, "AAAA-AAAA").content.decode()
    assert "The code is missing." in type_code(client, "").content.decode()
    assert "One try left." in type_code(client, "AAAA-AAAA").content.decode()

    third = type_code(client, "AAAA-AAAA")

    assert third.headers["Location"] == "/sign-in/"
    assert "Three tries were wrong" in client.get("/sign-in/").content.decode()
    if email == cast.guardian.email:
        type_code(client, code_for(cast.guardian))
    assert not is_in(client)
    refused = Entry.objects.filter(action=Entry.Action.REFUSED)
    code = cast.guardian.code if email == cast.guardian.email else entering.NOBODY
    assert [(row.thing_code, row.detail) for row in refused] == [(code, {"way": "code"})] * 3


def test_a_code_works_once(client: Client, cast: Cast):
    come_in(client, cast.guardian)
    code = code_for(cast.guardian)
    client.post("/sign-out/")

    type_code(client, code)

    assert not is_in(client)
    assert "That code opens nothing" in client.get("/sign-in/").content.decode()


def test_a_code_works_in_the_browser_that_asked(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    other = Client()
    ask_for_code(other, cast.mate_guardian.email)

    type_code(other, code_for(cast.guardian))
    assert not is_in(other)
    stranger = Client()
    assert type_code(stranger, code_for(cast.guardian)).headers["Location"] == "/sign-in/"


def test_a_code_works_for_a_quarter_of_an_hour(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    session = client.session
    session["account_login"]["state"]["stages"]["login_by_code"]["data"]["at"] -= 15 * 60 + 1
    session.save()

    assert type_code(client, code_for(cast.guardian)).headers["Location"] == "/sign-in/"
    assert not is_in(client)
    assert "older than 15 minutes" in client.get("/sign-in/").content.decode()


def test_a_new_code_takes_the_place_of_the_old_and_has_its_own_quarter(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    old = code_for(cast.guardian)
    session = client.session
    stage = session["account_login"]["state"]["stages"]["login_by_code"]["data"]
    stage["at"] -= 14 * 60
    stage["failed_attempts"] = 2
    session.save()
    response = client.post("/sign-in/code/?next=/notes/", {"action": "resend"}, follow=True)
    assert "A new code is on its way." in response.content.decode()
    assert response.redirect_chain == [("/sign-in/code/?next=%2Fnotes%2F", 302)]
    new = code_for(cast.guardian)
    assert old != new

    assert "Two tries left." in type_code(client, old).content.decode()
    assert not is_in(client)
    stage = client.session["account_login"]["state"]["stages"]["login_by_code"]["data"]
    assert time.time() - stage["at"] < 60
    type_code(client, new)
    assert is_in(client)


def test_new_codes_are_counted_like_the_first(client: Client, cast: Cast):
    for email in (cast.guardian.email, "nobody@example.org"):
        ask_for_code(client, email)
        for _ in range(entering.MOST_TRIES - 1):
            page = client.post("/sign-in/code/", {"action": "resend"}, follow=True)
            assert "on its way" in page.content.decode()
        page = client.post("/sign-in/code/", {"action": "resend"}, follow=True)
        assert "Wait 15 minutes" in page.content.decode()

    assert OutgoingMail.objects.count() == entering.MOST_TRIES


def test_a_whole_club_comes_in_over_one_line(cast: Cast):
    """Three times as many as may try at one account."""
    people = [cast.guardian, cast.mate_guardian, cast.coach, cast.assistant, cast.swimmer_user]
    for user in people * 6:
        client = Client()
        come_in(client, user)
        assert is_in(client), user


def test_coming_back_from_the_mail_by_the_usual_address(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)

    back = client.get("/sign-in/", {"next": "/notes/"})

    assert back.headers["Location"] == "/sign-in/code/?next=%2Fnotes%2F"
    type_code(client, code_for(cast.guardian))
    assert is_in(client)


def test_unknown_and_suspended_people_get_the_same_answer_and_no_mail(client: Client, cast: Cast):
    User.objects.filter(pk=cast.assistant.pk).update(is_active=False)
    known = seen(ask_for_code(client, cast.guardian.email))
    page = seen(client.get("/sign-in/code/"))
    wrong = seen(type_code(client, "AAAA-AAAA"))
    for email in ["nobody@example.org", cast.assistant.email]:
        other = Client()
        assert seen(ask_for_code(other, email)) == known
        assert seen(other.get("/sign-in/code/")) == page
        assert seen(type_code(other, "AAAA-AAAA")) == wrong

    assert [mail.recipient for mail in OutgoingMail.objects.all()] == [cast.guardian]
    assert Job.objects.count() == 1


def test_an_unknown_address_costs_the_same_questions(cast: Cast):
    """But for the taking back: what the time of the answer could tell."""
    known, unknown = questions_for(cast.guardian.email), questions_for("nobody@example.org")

    assert known == unknown
    posts = [step for address, step in unknown.items() if not address.startswith("GET")]
    assert all(any("INSERT INTO" in asked for asked in step) for step in posts)


def questions_for(email: str) -> dict[str, list[str]]:
    """What is read and written at each step at the door: asking, coming back, asking anew, a wrong
    code, a wrong password."""
    client, steps = Client(), {}
    for address, given in [
        ("/sign-in/", {"email": email}),
        ("GET /sign-in/", None),
        ("GET /sign-in/code/", None),
        ("/sign-in/code/", {"action": "resend"}),
        ("/sign-in/code/?wrong", {"code": "AAAA-AAAA"}),
        ("/sign-in/password/", {"email": email, "password": "paper planes"}),
    ]:
        with CaptureQueriesContext(connection) as asked:
            if given is None:
                client.get(address.removeprefix("GET "))
            else:
                client.post(address, given)
        steps[address] = sorted(found[0] for q in asked if (found := TABLE.search(q["sql"])))
    return steps


def test_ten_asks_and_then_a_wait(client: Client, cast: Cast):
    for _ in range(entering.MOST_TRIES):
        assert ask_for_code(Client(), cast.guardian.email).status_code == 302
    response = ask_for_code(client, cast.guardian.email)

    assert "Wait 15 minutes" in response.content.decode()
    assert OutgoingMail.objects.count() == entering.MOST_TRIES
    assert ask_for_code(client, cast.mate_guardian.email).status_code == 302
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    assert ask_for_code(elsewhere, cast.guardian.email).status_code == 302


def test_thirty_asks_from_wherever_and_then_a_wait(client: Client, cast: Cast):
    for number in range(entering.MOST_AT_AN_ACCOUNT):
        elsewhere = Client(REMOTE_ADDR=f"192.0.2.{number}")
        assert ask_for_code(elsewhere, cast.guardian.email).status_code == 302

    assert "Wait 15 minutes" in ask_for_code(client, cast.guardian.email).content.decode()
    assert ask_for_code(client, cast.mate_guardian.email).status_code == 302


def test_no_count_outlasts_a_quarter_of_an_hour(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    by_password(client, cast.guardian.email, "paper planes")
    kept = cache._cache  # type: ignore[attr-defined]
    if settings.REDIS:
        line = kept.get_client()
        left = [line.ttl(key) for key in line.keys("*door:*")]
    else:
        ends = cache._expire_info  # type: ignore[attr-defined]
        left = [until - time.time() for key, until in ends.items() if "door:" in key]

    assert len(left) >= 3
    assert all(0 < seconds <= 15 * 60 for seconds in left)


def test_one_place_cannot_try_name_after_name(client: Client, cast: Cast, monkeypatch):
    monkeypatch.setattr(entering, "MOST_FROM_A_PLACE", 5)
    for number in range(5):
        assert ask_for_code(client, f"somebody{number}@example.org").status_code == 302

    assert "Wait 15 minutes" in ask_for_code(client, cast.guardian.email).content.decode()


def test_the_cache_holds_no_address(client: Client, cast: Cast):
    ask_for_code(client, cast.guardian.email)
    kept = cache._cache  # type: ignore[attr-defined]
    keys = [str(key) for key in (kept.get_client().keys() if settings.REDIS else kept)]
    assert [key for key in keys if "door:" in key]
    assert not [key for key in keys if "ada" in key]


@pytest.mark.parametrize(
    ("email", "said"), [("", "The address is missing."), ("marta", "not a whole address")]
)
def test_what_is_missing_is_said(client: Client, cast: Cast, email: str, said: str):
    response = ask_for_code(client, email)
    assert said in response.content.decode()
    assert 'aria-invalid="true"' in response.content.decode()


def test_another_address_can_be_typed(client: Client, cast: Cast):
    ask_for_code(client, "ada.flak@example.org")

    page = client.get("/sign-in/code/", {"next": "/notes/"}).content.decode()
    assert '"/sign-in/?anew=1&amp;next=/notes/"' in page
    assert client.get("/sign-in/", {"anew": 1}).status_code == 200
    ask_for_code(client, cast.guardian.email)
    type_code(client, code_for(cast.guardian))
    assert is_in(client)


def test_a_new_session_begins(client: Client, cast: Cast):
    client.get("/sign-in/")
    session = client.session
    session["left by"] = "somebody before"
    session.save()
    before = session.session_key
    come_in(client, cast.guardian)

    assert client.session.session_key != before


def test_it_goes_on_to_the_page_that_was_wanted(client: Client, cast: Cast):
    wanted = f"/notes/{cast.swimmer.code}/"
    page = client.get("/sign-in/", {"next": wanted}).content.decode()
    assert f'value="{wanted}"' in page

    assert come_in(client, cast.guardian, next=wanted).headers["Location"] == wanted


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://example.com/",
        "//example.com/",
        "/\\example.com",
        "\\/example.com",
        "///example.com",
        "javascript:alert(1)",
        "/\t/example.com",
        "http:///example.com",
    ],
)
def test_it_goes_nowhere_else(client: Client, cast: Cast, elsewhere: str):
    assert come_in(client, cast.guardian, next=elsewhere).headers["Location"] == "/"
    other = Client()
    assert by_password(other, cast.coach.email, next=elsewhere).headers["Location"] == "/"


def test_who_is_in_need_not_sign_in(as_coach: Client):
    assert as_coach.get("/sign-in/").headers["Location"] == "/"
    assert as_coach.get("/sign-in/password/").headers["Location"] == "/"


def test_a_forged_form_is_refused_kindly(cast: Cast):
    client = Client(enforce_csrf_checks=True)
    response = ask_for_code(client, cast.coach.email)
    assert response.status_code == 403
    assert "This page was open too long" in response.content.decode()


def test_a_stranger_is_sent_to_the_door_and_back(client: Client, db):
    assert client.get("/notes/").headers["Location"] == "/sign-in/?next=/notes/"


def test_signing_out(as_coach: Client, cast: Cast):
    response = as_coach.post("/sign-out/")
    assert response.headers["Location"] == "/sign-in/"
    assert response.headers["Clear-Site-Data"] == '"cache", "storage"'
    assert not is_in(as_coach)
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_OUT)
    assert entry.actor_code == cast.coach.code


def test_signing_out_needs_a_button(as_coach: Client):
    assert as_coach.get("/sign-out/").status_code == 405
    assert is_in(as_coach)


def test_signing_out_twice_is_once(client: Client, db):
    assert client.post("/sign-out/").headers["Location"] == "/sign-in/"
    assert not Entry.objects.exists()
