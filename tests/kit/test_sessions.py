"""What a session gives back, and that one which is over gives nothing at once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from portal.kit.sessions import SessionStore


@pytest.fixture
def key(db) -> str:
    session = SessionStore()
    session["lane"] = 4
    session.save()
    assert session.session_key
    return session.session_key


def test_it_works(key: str):
    with CaptureQueriesContext(connection) as asked:
        assert SessionStore(key)["lane"] == 4

    assert len(asked) == 1


@pytest.mark.parametrize("over", [timedelta(0), timedelta(days=1)])
def test_one_whose_time_is_over_is_empty_and_gives_up_its_key(key: str, over: timedelta):
    Session.objects.filter(pk=key).update(expire_date=timezone.now() - over)
    session = SessionStore(key)

    assert session.get("lane") is None
    assert session.session_key is None


def test_one_that_was_ended_elsewhere_is_over_at_the_next_look(key: str):
    assert SessionStore(key)["lane"] == 4

    SessionStore(key).flush()

    assert SessionStore(key).get("lane") is None


def test_a_key_that_nobody_gave_is_not_taken_on(db):
    session = SessionStore("abcdefghijklmnopqrstuvwxyz012345")
    session["lane"] = 4
    session.save()

    assert session.session_key != "abcdefghijklmnopqrstuvwxyz012345"
