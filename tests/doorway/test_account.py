"""Somebody's own account: sessions, password, second factor, and how long a sign-in is fresh."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.conf import settings as django_settings
from django.core.cache import cache
from django.test import Client

from portal.audit.models import Entry
from portal.doorway import passwords, staying
from portal.mailroom.models import OutgoingMail
from portal.people import recent
from portal.people.models import User
from tests.cast import Cast
from tests.doorway.letters import ask_for_code, code_for, come_in, type_code
from tests.factors import app_code

NEW = "four lamps behind a boat"


@pytest.fixture(autouse=True)
def nobody_has_tried() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


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
    other = Client(HTTP_USER_AGENT="A phone left on the bus")
    come_in(other, ada)
    page = client.get("/you/").content.decode()
    assert "A phone left on the bus" in page
    session = UserSession.objects.get(user_agent="A phone left on the bus")

    client.post(f"/you/sessions/{session.pk}/end/")

    assert other.get("/notes/").status_code == 302
    assert client.get("/notes/").status_code == 200


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

    come_in(client, getattr(cast, name))
    back(client, staying.KEY, "began", most + a_little)
    assert client.get("/you/").status_code == 302


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


def test_staff_without_a_second_factor_get_no_further_than_their_account(
    client: Client, cast: Cast, settings
):
    settings.STAFF_FACTOR = True
    for name in ("coach", "head_coach", "assistant", "welfare", "volunteer", "second_recipient"):
        come_in(client, getattr(cast, name))
        for page in ("/", "/sessions/", f"/swimmers/{cast.swimmer.code}/"):
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
    assert ways == "code + mfa"


def test_the_second_step_cannot_be_tried_for_ever(client: Client, cast: Cast):
    come_in(client, cast.coach)
    secret = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})
    client.post("/sign-out/")
    come_in(client, cast.coach)
    for _ in range(10):
        assert client.post("/sign-in/second/", {"code": "000000"}).status_code == 200

    assert client.post("/sign-in/second/", {"code": app_code(secret)}).status_code == 429


def test_removing_the_app_shuts_the_portal_again(client: Client, cast: Cast, settings):
    settings.STAFF_FACTOR = True
    come_in(client, cast.coach)
    secret = client.get("/you/app/").context["form"].secret
    client.post("/you/app/", {"code": app_code(secret)})

    assert client.get("/you/app/remove/").status_code == 200
    client.post("/you/app/remove/")

    assert not Authenticator.objects.filter(type=Authenticator.Type.TOTP).exists()
    assert client.get("/sessions/").headers["Location"] == "/you/"
