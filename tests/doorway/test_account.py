"""Somebody's own account: sessions, password, second factor, and how long a sign-in is fresh."""

from __future__ import annotations

from datetime import timedelta

import pytest
from allauth.usersessions.models import UserSession
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from portal.audit.models import Entry
from portal.doorway import passwords, staying
from portal.jobs import planning, running
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people import recent
from portal.people.models import Membership, User
from tests.cast import Cast
from tests.doorway.letters import ask_for_code, code_for, come_in, type_code

PHONE = (
    "Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36 (KHTML, like Gecko)"
    " Chrome/142.0.0.0 Mobile Safari/537.36"
)
NEW = "four lamps behind a boat"


@pytest.fixture
def ada(client: Client, cast: Cast) -> User:
    come_in(client, cast.guardian)
    return cast.guardian


def back(client: Client, key: str, part: str | None, by: timedelta) -> None:
    """As if so much time had passed since."""
    session = client.session
    if part:
        session[key] = {**session[key], part: session[key][part] - by.total_seconds()}
    else:
        session[key] -= by.total_seconds()
    session.save()


def test_it_works(client: Client, ada: User):
    page = client.get("/you/").content.decode()

    assert ada.email in page
    assert "this one" in page
    assert "code by mail is not enough" not in page


def test_a_session_elsewhere_is_seen_and_ended(client: Client, ada: User):
    other = Client(HTTP_USER_AGENT=PHONE)
    come_in(other, ada)
    page = client.get("/you/").content.decode()
    assert "Chrome on Android" in page
    session = UserSession.objects.get(user_agent=PHONE)

    client.post(f"/you/sessions/{session.pk}/end/")

    assert other.get("/notes/").status_code == 302
    assert client.get("/notes/").status_code == 200
    ended = Entry.objects.filter(action=Entry.Action.SIGNED_OUT)
    assert [row.detail for row in ended] == [{"way": "ended"}]


def test_what_is_over_is_not_listed_and_goes_at_the_next_sign_in(client: Client, ada: User):
    other = Client(HTTP_USER_AGENT=PHONE)
    come_in(other, ada)
    assert client.get("/you/").content.decode().count("last here about") == 2
    back(other, staying.KEY, "seen", timedelta(days=31))

    assert client.get("/you/").content.decode().count("last here about") == 1
    come_in(Client(), ada)
    assert not UserSession.objects.filter(user_agent=PHONE).exists()


def test_what_is_over_is_swept_by_the_clock(client: Client, ada: User, cast: Cast):
    """Also of who never comes back, and of a stranger who only asked for a code."""
    idle, out, stranger = Client(), Client(), Client()
    come_in(idle, cast.mate_guardian)
    come_in(out, cast.mate_guardian)
    ask_for_code(stranger, "nobody@example.org")
    back(idle, staying.KEY, "seen", timedelta(days=31))
    out.post("/sign-out/")
    Session.objects.filter(pk=stranger.session.session_key).update(expire_date=timezone.now())

    sweep_by_the_clock()

    assert [own.user for own in UserSession.objects.all()] == [ada]
    assert Session.objects.get().session_key == client.session.session_key
    assert client.get("/notes/").status_code == 200


def sweep_by_the_clock() -> None:
    at = timezone.now()
    planning.plan_due(at=at)
    job = Job.objects.get(kind="doorway.sweep")
    running.run_one(job.code, worker="a clock", at=at)
    job.refresh_from_db()
    assert job.state == Job.State.DONE, job.last_error


def test_listing_sessions_costs_the_same_however_many(client: Client, ada: User):
    with CaptureQueriesContext(connection) as few:
        client.get("/you/")
    for _ in range(5):
        come_in(Client(), ada)
    with CaptureQueriesContext(connection) as many:
        assert client.get("/you/").content.decode().count("last here about") == 6

    assert len(many) == len(few)


def test_nobody_ends_the_session_of_somebody_else(client: Client, ada: User, cast: Cast):
    other = Client()
    come_in(other, cast.mate_guardian)
    session = UserSession.objects.get(user=cast.mate_guardian)

    assert client.post(f"/you/sessions/{session.pk}/end/").status_code == 404
    assert other.get("/notes/").status_code == 200


def test_a_suspended_account_is_out_at_the_next_request(client: Client, ada: User):
    User.objects.filter(pk=ada.pk).update(is_active=False)

    assert client.get("/notes/").status_code == 302


@pytest.mark.parametrize(
    ("name", "idle", "most"),
    [
        ("coach", timedelta(hours=12), timedelta(days=30)),
        ("welfare", timedelta(hours=12), timedelta(days=30)),
        ("volunteer", timedelta(hours=12), timedelta(days=30)),
        ("guardian", timedelta(days=30), timedelta(days=90)),
        ("swimmer_user", timedelta(days=14), timedelta(days=14)),
    ],
)
def test_how_long_somebody_stays(
    client: Client, cast: Cast, name: str, idle: timedelta, most: timedelta
):
    come_in(client, getattr(cast, name))
    a_little = timedelta(minutes=1)
    back(client, staying.KEY, "seen", idle - a_little)
    assert client.get("/you/").status_code == 200
    back(client, staying.KEY, "seen", idle + a_little)
    assert client.get("/you/").status_code == 302
    assert Entry.objects.latest("pk").detail == {"way": "time"}

    come_in(client, getattr(cast, name))
    back(client, staying.KEY, "began", most + a_little)
    assert client.get("/you/").status_code == 302


def test_a_parent_who_becomes_a_coach_stays_no_longer_than_staff(
    client: Client, ada: User, cast: Cast
):
    Membership.objects.create(
        user=ada,
        club=cast.club,
        squad=cast.squad,
        role=Membership.Role.ASSISTANT,
        starts=timezone.now().date(),
    )
    client.get("/notes/")
    assert client.session[staying.KEY]["idle"] == staying.STAFF.idle.total_seconds()
    back(client, staying.KEY, "seen", timedelta(hours=13))

    assert client.get("/notes/").status_code == 302


def test_a_visit_keeps_a_session_going_and_is_seldom_written(client: Client, ada: User):
    before = client.session[staying.KEY]["seen"]
    client.get("/you/")
    assert client.session[staying.KEY]["seen"] == before
    back(client, staying.KEY, "seen", timedelta(days=20))

    client.get("/you/")

    assert client.session[staying.KEY]["seen"] >= before


def test_what_needs_a_fresh_sign_in_asks_for_one_and_comes_back(client: Client, ada: User):
    assert client.get("/you/password/").status_code == 200
    back(client, recent.KEY, None, timedelta(minutes=16))
    asked = client.get("/you/password/")
    assert asked.headers["Location"] == "/sign-in/again/?next=%2Fyou%2Fpassword%2F"
    assert client.get(asked.headers["Location"]).status_code == 200

    out = client.post("/sign-in/again/", {"next": "/you/password/"})

    assert out.headers["Location"] == "/sign-in/?next=%2Fyou%2Fpassword%2F"
    ask_for_code(client, ada.email, next="/you/password/")
    done = type_code(client, code_for(ada), next="/you/password/")
    assert done.headers["Location"] == "/you/password/"
    assert client.get("/you/password/").status_code == 200


def test_setting_a_password_ends_other_sessions_and_is_told(client: Client, ada: User):
    other = Client()
    come_in(other, ada)

    client.post("/you/password/", {"password": NEW})

    ada.refresh_from_db()
    assert ada.check_password(NEW)
    assert client.get("/notes/").status_code == 200
    assert other.get("/notes/").status_code == 302
    assert "this one" in client.get("/you/").content.decode()
    mail = OutgoingMail.objects.get(kind=OutgoingMail.Kind.SECURITY)
    assert "A password was set." in mail.text
    assert NEW not in mail.text + str(list(Entry.objects.values()))


@pytest.mark.parametrize(
    "password",
    [
        "short and sweet",
        "aaaaaaaaaaaaaaaaaaaa",
        "abcabcabcabcabcabc",
        "qwertyuiopasdfghjkl",
        "12345678901234567890",
        "passwordpassword1",
        "Swimming-Coach-2026",
        "adafalkadafalk2026!",
        "letmeinpleaseletmein",
    ],
)
def test_an_easy_password_is_refused(client: Client, ada: User, password: str):
    given = password if password != "short and sweet" else "short & sweet"
    page = client.post("/you/password/", {"password": given}).content.decode()

    assert "wrongly" in page
    assert given not in page
    ada.refresh_from_db()
    assert not ada.check_password(given)


@pytest.mark.parametrize(
    "password",
    [
        "four lamps behind a boat",
        "Ä" + "öü ß–" * 20 + "kork",
        "vK3#pL9@qR7!xT2$w",
        "x" * 3 + NEW * 4,
    ],
)
def test_a_good_password_is_taken_whole(client: Client, ada: User, password: str):
    client.post("/you/password/", {"password": password})
    ada.refresh_from_db()

    assert ada.check_password(password)
    assert not ada.check_password(password[:-1])


def test_passwords_are_hashed_as_owasp_asks(settings):
    """OWASP password storage cheat sheet: Argon2id with m=19456 (19 MiB), t=2, p=1 at least."""
    encoded = passwords.Argon2().encode(NEW, "a grain of salt")

    assert encoded.startswith("argon2$argon2id$v=19$m=19456,t=2,p=1$")
    assert "'min_length': 15" in str(django_settings.AUTH_PASSWORD_VALIDATORS)


def test_a_page_that_lies_open_keeps_nobody_signed_in(client: Client, ada: User):
    """It asks by itself, by HEAD, whether its film may still be seen."""
    back(client, staying.KEY, "seen", staying.FAMILY.idle / 2)
    before = client.session[staying.KEY]["seen"]

    client.head("/you/")
    assert client.session[staying.KEY]["seen"] == before
    client.get("/you/")
    assert client.session[staying.KEY]["seen"] > before
