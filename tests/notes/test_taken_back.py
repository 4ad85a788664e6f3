"""Notes that were out and are a draft again, for those who hold a mail that leads there."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    publishing.take_back(review, by=cast.coach, at=NOW)
    return review


def read(cast: Cast, person: str, review: Review) -> Any:
    return get(cast, person, reverse("notes:notes", args=[review.code]))


def get(cast: Cast, person: str, address: str) -> Any:
    client = Client()
    if user := cast.person(person):
        client.force_login(user)
    return client.get(address)


@pytest.mark.parametrize("person", ["guardian", "co_guardian", "swimmer_user", "second_adult"])
def test_who_could_read_it_is_told(cast: Cast, review: Review, person: str):
    page = read(cast, person, review)

    words = page.content.decode()
    assert page.status_code == 200
    assert "These notes were taken back to be changed" in words
    assert ("A new mail comes" in words) == (person != "second_adult")
    assert "Ines" not in words.split("<main")[1].split("</main>")[0]
    for comment in review.comments.all():
        assert escape(comment.words) not in words
        assert escape(comment.title) not in words


@pytest.mark.parametrize(
    "person",
    [
        *("former_guardian", "mate_user", "mate_guardian", "other_coach", "rival_coach"),
        *("stranger", "welfare"),
    ],
)
def test_others_find_nothing(cast: Cast, review: Review, person: str):
    assert read(cast, person, review).status_code == 404


def test_its_pictures_are_gone(cast: Cast, review: Review):
    picture = reverse("notes:still", args=[review.comments.get(words=staging.EARLY).code])

    assert get(cast, "guardian", picture).status_code == 404
    assert get(cast, "second_adult", picture).status_code == 404
    assert get(cast, "coach", picture).status_code == 200


def test_what_was_never_out_is_not_spoken_of(cast: Cast):
    draft = staging.evening(cast)

    assert read(cast, "guardian", draft).status_code == 404
