"""The officer reads everything that families and coaches say to each other below notes."""

from __future__ import annotations

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.people.models import Membership
from portal.replies import replying
from portal.replies.models import Reply
from portal.replies.replying import Thread
from tests.cast import NOW, Cast, join, make_user
from tests.openness.told import client_of, read

PAGE = "/communications/notes/"


def talk(cast: Cast) -> None:
    thread = Thread(uuid.uuid4(), cast.session, cast.swimmer)
    kind = Reply.Kind.SHOW_ME
    replying.say(thread, kind=kind, words="Which <arm>?", by=cast.co_guardian, at=NOW)
    replying.answer(thread, words="The left one.", by=cast.coach, at=NOW)


def test_it_works(cast: Cast):
    talk(cast)

    page = read(cast.welfare, PAGE)

    assert "Which &lt;arm&gt;?" in page
    assert "The left one." in page
    assert cast.co_guardian.name in page
    assert f"seen by {cast.coach.name}" in page
    assert PAGE in read(cast.welfare, "/communications/")


def test_the_record_says_who_spoke_and_not_what(cast: Cast):
    talk(cast)

    page = read(cast.welfare, "/record/?kind=reply")

    assert page.count("words below notes") > 2
    assert cast.co_guardian.name in page
    assert "left one" not in page


@pytest.mark.parametrize("name", ["coach", "head_coach", "guardian", "second_adult", "stranger"])
def test_it_is_nobody_elses(cast: Cast, name: str):
    assert client_of(getattr(cast, name)).get(PAGE).status_code == 404


def test_another_clubs_words_are_not_there(cast: Cast):
    talk(cast)
    officer = make_user("Olga Other")
    join(officer, cast.rival_coach.memberships.get().club, Membership.Role.WELFARE)

    assert "The left one." not in read(officer, PAGE)


def test_much_talk_takes_no_more_queries(cast: Cast):
    counts = []
    client = client_of(cast.welfare)
    for more in (1, 20):
        for _number in range(more):
            talk(cast)
        with CaptureQueriesContext(connection) as asked:
            client.get(PAGE)
        counts.append(len(asked))
    assert counts[0] == counts[1]
