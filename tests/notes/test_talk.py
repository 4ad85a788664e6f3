"""What is said below notes: who says it, who reads it, and what a coach's desk shows of it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from portal.people.models import Guardianship, Membership, User
from portal.replies.models import Reply
from portal.review import publishing
from portal.review.models import Review
from portal.roster import guarding
from tests.cast import DAY, NOW, Cast, join, make_swimmer, signed_in
from tests.notes import staging

FAMILY = ["guardian", "co_guardian", "swimmer_user"]
READERS = [*FAMILY, "second_adult", "welfare", "assistant", "coach", "head_coach"]
QUESTION = "Which arm do you mean?"


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def say(person: User, review: Review, kind: str = "show me", words: str = QUESTION, **extra):
    address = reverse("notes:say", args=[review.code])
    return signed_in(person).post(address, {"kind": kind, "words": words}, **extra)


def answer(person: User, review: Review, words: str = "The left one.", act: str = "answer"):
    address = reverse("notes:answer", args=[review.code])
    return signed_in(person).post(address, {"act": act, "words": words})


def read(person: User, review: Review) -> str:
    return signed_in(person).get(reverse("notes:notes", args=[review.code])).content.decode()


def desk(person: User) -> str:
    client = Client(headers={"HX-Request": "true"})
    client.force_login(person)
    return client.get(reverse("notes:waiting")).content.decode()


@pytest.mark.parametrize("person", FAMILY)
def test_it_works(cast: Cast, review: Review, person: str):
    done = say(getattr(cast, person), review)
    assert done.status_code == 302
    assert answer(cast.coach, review).status_code == 302

    for reader in READERS:
        page = read(getattr(cast, reader), review)
        assert QUESTION in page, reader
        assert "The left one." in page, reader
        assert "Marta Lind has seen this." in page, reader


def test_who_reads_it_stands_beside_the_button(cast: Cast, review: Review):
    page = read(cast.guardian, review)

    assert (
        "The coaches of Juniors and Tom Varga can read what you say. So can the welfare officer"
        " and your family." in page
    )
    assert cast.co_guardian.name not in page


def test_one_household_learns_nothing_of_the_other(cast: Cast, review: Review):
    """Whoever presses, it is said in the swimmer's name."""
    say(cast.co_guardian, review)
    answer(cast.coach, review)
    say(cast.co_guardian, review, kind="got it")

    for person in ["guardian", "swimmer_user", "second_adult", "coach"]:
        page = read(getattr(cast, person), review)
        assert cast.co_guardian.name not in page, person
    assert "has seen this" not in read(cast.guardian, review).replace("Marta Lind has", "")
    assert "Ines’s family has seen this." in read(cast.coach, review)


def test_the_coach_knows_whose_phone_it_was(cast: Cast, review: Review):
    say(cast.guardian, review)
    assert "from a guardian’s sign-in" in read(cast.coach, review)
    say(cast.swimmer_user, review, words="And the legs?")
    assert "own sign-in" in read(cast.coach, review)
    assert "sign-in" not in read(cast.swimmer_user, review).split('id="talk"')[1].split("</ol>")[0]


@pytest.mark.parametrize(
    ("words", "said"), [("x" * 301, "at most 300"), ("", "Write your answer first.")]
)
def test_an_answer_that_does_not_fit_is_kept_in_the_box(
    cast: Cast, review: Review, words: str, said: str
):
    page = answer(cast.coach, review, words=words)

    assert page.status_code == 422
    assert said in page.content.decode()
    assert f">{words}</textarea>" in page.content.decode()
    assert not Reply.objects.exists()


def test_a_question_that_is_too_long_is_kept_in_the_box(cast: Cast, review: Review):
    page = say(cast.guardian, review, words="y" * 301)

    assert page.status_code == 422
    assert f">{'y' * 301}</textarea>" in page.content.decode()
    assert say(cast.guardian, review, kind="shout").status_code == 422
    assert not Reply.objects.exists()


def test_words_are_words(cast: Cast, review: Review):
    say(cast.guardian, review, words="<b>loud</b>")

    assert "&lt;b&gt;loud&lt;/b&gt;" in read(cast.coach, review)


def test_got_it_has_no_words(cast: Cast, review: Review):
    say(cast.guardian, review, kind="got it", words="x" * 20)

    assert Reply.objects.get().words == ""
    assert "Your coaches see it." in read(cast.guardian, review)


def test_a_guardian_who_is_barred_loses_it_at_once(cast: Cast, review: Review):
    say(cast.guardian, review)
    tie = Guardianship.objects.get(guardian=cast.guardian)
    now = timezone.now()
    guarding.bar(tie, on=cast.club.day(now), by=cast.head_coach, at=now)

    assert say(cast.guardian, review, kind="got it").status_code == 404
    address = reverse("notes:notes", args=[review.code])
    assert signed_in(cast.guardian).get(address).status_code == 404
    assert QUESTION in read(cast.co_guardian, review)


def test_nothing_is_said_where_nobody_at_home_reads_along(cast: Cast, review: Review):
    Guardianship.objects.update(ends=DAY)

    page = say(cast.swimmer_user, review)

    assert page.status_code == 422
    assert "nothing was sent" in page.content.decode()
    assert answer(cast.coach, review).status_code == 422
    assert not Reply.objects.exists()


def test_without_a_second_adult_there_is_no_button(cast: Cast, review: Review):
    cast.squad.second_adult = None
    cast.squad.save()

    assert "Show me" not in read(cast.guardian, review)
    assert say(cast.guardian, review).status_code == 422


def test_below_a_draft_nobody_says_anything(cast: Cast, review: Review):
    say(cast.guardian, review)
    publishing.take_back(review, by=cast.coach, at=NOW)

    assert say(cast.guardian, review, kind="got it").status_code == 404
    assert answer(cast.coach, review).status_code == 403
    assert 'id="talk"' not in read(cast.coach, review)
    assert QUESTION not in desk(cast.coach)


def test_saying_much_has_an_end(cast: Cast, review: Review):
    client = signed_in(cast.guardian)
    address = reverse("notes:say", args=[review.code])
    said = [
        client.post(address, {"kind": "show me", "words": str(turn)}).status_code
        for turn in range(21)
    ]

    assert said == [302] * 20 + [429]


def test_a_question_waits_on_the_coachs_desk(cast: Cast, review: Review):
    assert "<section" not in desk(cast.coach)
    say(cast.guardian, review)

    for person in [cast.coach, cast.head_coach]:
        assert QUESTION in desk(person)
    for person in [cast.other_coach, cast.assistant, cast.rival_coach]:
        assert QUESTION not in desk(person)
    assert answer(cast.coach, review, words="", act="seen").status_code == 302
    assert QUESTION not in desk(cast.coach)
    assert "Marta Lind has seen this." in read(cast.guardian, review)


def test_got_it_does_not_wait(cast: Cast, review: Review):
    say(cast.guardian, review, kind="got it")

    assert "<section" not in desk(cast.coach)


def test_what_speaks_of_pain_stands_first(cast: Cast, review: Review):
    say(cast.guardian, review)
    say(cast.guardian, review, words="My shoulder hurts there")

    page = desk(cast.coach)

    assert page.index("My shoulder hurts there") < page.index(QUESTION)
    assert "Tell the lead coach now, and have it looked at by somebody who is trained" in page
    assert "Tell the lead coach now" in read(cast.coach, review)
    assert "tell somebody at home the same day" in read(cast.guardian, review)


def test_it_asks_no_more_when_more_waits(cast: Cast, review: Review):
    join(cast.coach, cast.club, Membership.Role.COACH, cast.other_squad)
    say(cast.guardian, review)
    _, few = asked(cast.coach)
    for number in range(14):
        child = make_swimmer(
            cast.club, cast.squad, f"Kid{number} Lane", born=DAY.replace(year=2013)
        )
        other = Review.objects.create(
            session=cast.session, swimmer=child, state="published", publishings=1
        )
        Reply.objects.create(
            review_code=other.code,
            session=cast.session,
            swimmer=child,
            kind="show me",
            words=f"Question {number}",
            by=cast.guardian,
            at=NOW,
        )

    page, many = asked(cast.coach)

    assert many == few
    assert "And 3 more." in page


def asked(person: User) -> tuple[str, int]:
    with CaptureQueriesContext(connection) as queries:
        page = desk(person)
    return page, len([one for one in queries if "replies_reply" in one["sql"]])


def test_a_desk_opened_by_its_own_address_leads_to_the_desk(cast: Cast):
    assert signed_in(cast.coach).get(reverse("notes:waiting")).headers["Location"] == "/"


def test_a_long_talk_asks_no_more(cast: Cast, review: Review):
    counts = []
    for more in (1, 12):
        for number in range(more):
            say(cast.guardian, review, words=f"{more} {number}")
        with CaptureQueriesContext(connection) as queries:
            read(cast.guardian, review)
        counts.append(len(queries))

    assert counts[0] == counts[1]
