"""Notes of many moments: no more queries, and a page that grows by what it says."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.items.models import Verdict
from portal.people.models import User
from portal.review import publishing
from portal.review.models import Review
from portal.technique.models import Edition
from tests.cast import NOW, Cast
from tests.notes import staging

MOST_QUERIES = 12


def read(person: User, review: Review) -> tuple[str, int]:
    """The page, and how many queries it took."""
    client = Client()
    client.force_login(person)
    address = reverse("notes:notes", args=[review.code])
    client.get(address)
    with CaptureQueriesContext(connection) as asked:
        response = client.get(address)
    assert response.status_code == 200
    return response.content.decode(), len(asked)


def crowd(cast: Cast, review: Review, count: int) -> None:
    """Moments of every kind, each on a clip and a recording of its own."""
    kinds = [
        {},
        {"verdict": Verdict.WORK_ON, "fault": staging.fault(), "drill": staging.drill()},
        {"verdict": Verdict.NOT_LEGAL, "fault": staging.fault_with_rule()},
    ]
    for number in range(count):
        clip = staging.cut(staging.record(cast, frames=4), cast.swimmer, last=3)
        staging.copy_clip(clip)
        staging.show(clip, cast.swimmer)
        staging.comment(review, clip, frame=2, **kinds[number % 3])


@pytest.mark.parametrize("person", ["guardian", "swimmer_user", "second_adult", "coach"])
def test_it_works(cast: Cast, person: str):
    Edition.objects.create()
    reader = cast.person(person)
    assert reader
    review = staging.open_review(cast)
    crowd(cast, review, 3)
    publishing.publish(review, by=cast.coach, at=NOW)
    _, few = read(reader, review)
    crowd(cast, review, 15)

    page, many = read(reader, review)

    assert many == few <= MOST_QUERIES
    assert page.count('<article class="moment"') == 18
    assert page.count("Rule: One dolphin kick") == page.count("Swim this:") == 6


def test_a_page_grows_by_what_it_says(cast: Cast):
    """Also where all moments are on one clip, whose string every one of them shows."""
    clip = staging.cut(staging.record(cast), cast.swimmer)
    review = staging.open_review(cast)
    sizes = []
    for count in [8, 16, 32]:
        for frame in range(review.comments.count(), count):
            staging.comment(review, clip, frame=frame)
        sizes.append(len(read(cast.coach, review)[0]))

    assert sizes[2] - sizes[1] == pytest.approx(2 * (sizes[1] - sizes[0]), rel=0.05)


def test_the_string_of_a_clip_is_drawn_once(cast: Cast):
    page, _ = read(cast.coach, staging.evening(cast))

    [(string, drawing)] = re.findall(r'<g id="(string-\d+)">(.*?)</g>', page)
    assert drawing.count("<path") == 1 + 3
    assert page.count(f'<use class="knots" href="#{string}" /><path class="here" d="M') == 3
