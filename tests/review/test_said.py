"""What a bench hears every two seconds of what others wrote."""

from __future__ import annotations

from http import HTTPStatus

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.recordings.models import Clip
from portal.review import commenting
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words


@pytest.fixture
def clip(cast: Cast) -> Clip:
    words.learn()
    return staging.cut(filmed.ready(cast), cast.swimmer, first=0, last=59)


def write(clip: Clip, cast: Cast, **changed) -> Comment:
    fields = {"frame": 9, "verdict": "work on", "tag": "feet-low", "words": "Half way.", **changed}
    return commenting.write(clip, by=cast.assistant, at=NOW, **fields)


def ask(client: Client, clip: Clip, tag: str = ""):
    headers = {"If-None-Match": tag} if tag else {}
    return client.get(f"/clips/{clip.code}/comments.json", headers=headers)


def test_it_works(as_coach: Client, clip: Clip, cast: Cast):
    comment = write(clip, cast)

    answer = ask(as_coach, clip)

    [said] = answer.json()["comments"]
    assert (said["code"], said["author"], said["isOwn"]) == (str(comment.code), "Dov", False)
    assert answer.headers["Cache-Control"] == "private, no-cache"


def test_without_news_it_says_no_more_than_that(as_coach: Client, clip: Clip, cast: Cast):
    for frame in range(1, 30):
        write(clip, cast, frame=frame)
    tag = ask(as_coach, clip).headers["ETag"]

    with CaptureQueriesContext(connection) as queries:
        answer = ask(as_coach, clip, tag)

    assert (answer.status_code, answer.content) == (304, b"")
    assert len(queries) <= 6
    looked = as_coach.head(f"/clips/{clip.code}/comments.json", headers={"If-None-Match": tag})
    assert looked.status_code == 304, "asked by HEAD, it keeps nobody signed in"


def test_whatever_is_done_is_news(as_coach: Client, clip: Clip, cast: Cast):
    tags = [ask(as_coach, clip).headers["ETag"]]

    def is_news() -> bool:
        answer = ask(as_coach, clip, tags[-1])
        tags.append(answer.headers["ETag"])
        return bool(answer.status_code == HTTPStatus.OK)

    comment = write(clip, cast)
    assert is_news()
    comment = commenting.change(comment, version=1, by=cast.assistant, at=NOW, words="Now higher.")
    assert is_news()
    Review.objects.update(focus=comment)
    assert is_news()
    commenting.drop(comment, by=cast.assistant, at=NOW)
    assert is_news()
    commenting.restore(comment, by=cast.assistant, at=NOW)
    assert is_news()
    Review.objects.update(state=Review.State.PUBLISHED)
    assert is_news()
    assert not is_news()
    assert len(set(tags)) == len(tags) - 1


def test_everybody_has_a_tag_of_their_own(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast)
    mine = ask(as_coach, clip)
    theirs = ask(signed_in(cast.assistant), clip, mine.headers["ETag"])
    assert theirs.status_code == 200
    assert theirs.json()["comments"][0]["isOwn"] is True


@pytest.mark.parametrize("name", ["other_coach", "rival_coach", "guardian", "second_adult"])
def test_it_is_out_of_sight(clip: Clip, cast: Cast, name: str):
    assert ask(signed_in(getattr(cast, name)), clip).status_code == 404
