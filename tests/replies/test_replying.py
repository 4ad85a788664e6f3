"""Saying something below notes: who reads along, and that it stays."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from portal.audit.models import Entry
from portal.people.models import Guardianship, Squad, Swimmer, User
from portal.replies import replying
from portal.replies.models import Reply
from portal.replies.replying import Alone, Thread
from tests.cast import DAY, NOW, Cast

Kind = Reply.Kind


@pytest.fixture
def thread(cast: Cast) -> Thread:
    return Thread(uuid.uuid4(), cast.session, cast.swimmer)


def test_it_works(cast: Cast, thread: Thread):
    asked = replying.say(thread, kind=Kind.SHOW_ME, words="How far?", by=cast.swimmer_user, at=NOW)
    told = replying.answer(thread, words="To the flags.", by=cast.coach, at=NOW)

    assert replying.said(thread) == [asked, told]
    asked.refresh_from_db()
    assert (asked.seen_by, asked.seen_at) == (cast.coach, NOW)
    assert told.seen_by is None
    noted = Entry.objects.filter(thing="reply").order_by("id")
    assert [(one.action, one.actor_code, one.detail) for one in noted] == [
        (action, person.code, {"swimmer": str(cast.swimmer.code), "state": kind})
        for action, person, kind in [
            ("made", cast.swimmer_user, "show me"),
            ("saw", cast.coach, "show me"),
            ("made", cast.coach, "from coach"),
        ]
    ]
    assert "flags" not in str([one.detail for one in noted])


def test_pressed_twice_it_stands_there_once(cast: Cast, thread: Thread):
    first = replying.say(thread, kind=Kind.GOT_IT, by=cast.guardian, at=NOW)

    again = replying.say(thread, kind=Kind.GOT_IT, by=cast.co_guardian, at=NOW)

    assert first == again
    assert Reply.objects.count() == 1


def test_what_a_coach_wrote_is_seen_once_the_family_says_something(cast: Cast, thread: Thread):
    told = replying.answer(thread, words="To the flags.", by=cast.coach, at=NOW)

    replying.say(thread, kind=Kind.GOT_IT, by=cast.guardian, at=NOW)

    told.refresh_from_db()
    assert told.seen_by == cast.guardian


def test_taken_up_without_a_word(cast: Cast, thread: Thread):
    asked = replying.say(thread, kind=Kind.SHOW_ME, by=cast.guardian, at=NOW)

    replying.take_up(thread, by=cast.coach, at=NOW)

    asked.refresh_from_db()
    assert asked.seen_by == cast.coach
    assert not Reply.objects.filter(seen_at=None).exists()


def without_second_adult(cast: Cast) -> None:
    Squad.objects.update(second_adult=None)


def second_adult_gone(cast: Cast) -> None:
    User.objects.filter(pk=cast.second_adult.pk).update(is_active=False)


def ties_ended(cast: Cast) -> None:
    Guardianship.objects.update(ends=DAY)


def all_barred(cast: Cast) -> None:
    Guardianship.objects.update(barred_from=DAY)


@pytest.mark.parametrize(
    "happens", [without_second_adult, second_adult_gone, ties_ended, all_barred]
)
def test_nobody_talks_with_a_child_alone(cast: Cast, happens):
    happens(cast)
    cast.session.refresh_from_db()
    thread = Thread(uuid.uuid4(), cast.session, Swimmer.objects.get(pk=cast.swimmer.pk))

    with pytest.raises(Alone):
        replying.say(thread, kind=Kind.GOT_IT, by=cast.swimmer_user, at=NOW)
    with pytest.raises(Alone):
        replying.answer(thread, words="Come at six.", by=cast.coach, at=NOW)
    assert not Reply.objects.exists()


def test_a_grown_up_needs_no_guardian(cast: Cast, thread: Thread):
    ties_ended(cast)
    thread.swimmer.born = DAY - timedelta(days=19 * 366)

    said = replying.say(thread, kind=Kind.GOT_IT, by=cast.swimmer_user, at=NOW)

    assert replying.said(thread) == [said]


def test_threads_do_not_mix(cast: Cast, thread: Thread):
    replying.say(thread, kind=Kind.GOT_IT, by=cast.guardian, at=NOW)
    mates = Thread(thread.review_code, cast.session, cast.mate)

    assert replying.said(mates) == []
    assert replying.said(Thread(uuid.uuid4(), cast.session, cast.swimmer)) == []


def test_the_database_refuses_an_answer_without_words(cast: Cast, thread: Thread):
    with pytest.raises(IntegrityError), transaction.atomic():
        replying.answer(thread, words="", by=cast.coach, at=NOW)
