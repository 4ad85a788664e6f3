"""The same remark for other swimmers of the session."""

from __future__ import annotations

import pytest
from django.test import Client

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
    recording = filmed.ready(cast)
    staging.cut(recording, cast.mate, first=60, last=90)
    return staging.cut(recording, cast.swimmer, first=0, last=59)


@pytest.fixture
def comment(cast: Cast, clip: Clip) -> Comment:
    return commenting.write(
        clip,
        by=cast.coach,
        at=NOW,
        frame=9,
        verdict="work on",
        tag="feet-low",
        words="Half way up.",
        staff_note="Tired today.",
        cue="Heels to the hips.",
        drill="heels-to-hands",
        dose="4 x 25",
        focus=True,
    )


def repeat(client: Client, comment: Comment, **sent):
    return client.post(f"/comments/{comment.code}/repeat/", sent, content_type="application/json")


def test_it_works(as_coach: Client, comment: Comment, cast: Cast):
    answer = repeat(as_coach, comment, swimmers=[str(cast.mate.code)])

    assert (answer.status_code, answer.json()["names"]) == (201, ["Noor"])
    twin = Comment.objects.exclude(pk=comment.pk).get()
    said = ("verdict", "fault", "words", "cue", "drill", "dose")
    assert all(getattr(twin, name) == getattr(comment, name) for name in said)
    assert (twin.clip, twin.frame, twin.drawing, twin.staff_note) == (None, None, None, "")
    assert commenting.stroke_of(twin) == comment.clip.stroke  # type: ignore[union-attr]
    review = twin.reviews.get()
    assert (review.swimmer, review.focus) == (cast.mate, None)


def test_it_can_be_taken_back(as_coach: Client, comment: Comment, cast: Cast):
    notes = repeat(as_coach, comment, swimmers=[str(cast.mate.code)]).json()["notes"]

    assert repeat(as_coach, comment, taken_back=notes).status_code == 200

    assert not Comment.objects.kept().exclude(pk=comment.pk).exists()
    assert comment in Comment.objects.kept()


def test_nobody_else_can_be_named(as_coach: Client, comment: Comment, cast: Cast):
    for stranger in (str(cast.swimmer.code), "nobody", "", 7):
        assert repeat(as_coach, comment, swimmers=[stranger]).status_code == 422
    assert repeat(as_coach, comment, swimmers=[]).status_code == 422
    assert repeat(as_coach, comment).status_code == 422
    assert Comment.objects.count() == 1


def test_whose_notes_are_out_hear_nothing_more(as_coach: Client, comment: Comment, cast: Cast):
    Review.objects.create(session=cast.session, swimmer=cast.mate, state=Review.State.PUBLISHED)
    answer = repeat(as_coach, comment, swimmers=[str(cast.mate.code)])
    assert (answer.status_code, list(answer.json()["errors"])) == (422, ["review"])
    assert Comment.objects.count() == 1


def test_not_legal_is_said_of_one_swim(as_coach: Client, comment: Comment, cast: Cast):
    Comment.objects.update(verdict="not legal")
    answer = repeat(as_coach, comment, swimmers=[str(cast.mate.code)])
    assert (answer.status_code, list(answer.json()["errors"])) == (422, ["verdict"])


def test_a_comment_without_a_tag_waits(as_coach: Client, comment: Comment, cast: Cast):
    Comment.objects.update(fault=None, checkpoint=None)
    assert repeat(as_coach, comment, swimmers=[str(cast.mate.code)]).status_code == 422


def test_an_assistant_repeats_only_their_own(comment: Comment, cast: Cast):
    refused = repeat(signed_in(cast.assistant), comment, swimmers=[str(cast.mate.code)])
    assert refused.status_code == 403


@pytest.mark.parametrize("code", ["nonsense", "00000000-0000-0000-0000-000000000000"])
def test_only_notes_are_taken_back(as_coach: Client, comment: Comment, code: str):
    assert repeat(as_coach, comment, taken_back=[code]).status_code == 404


def test_comments_on_film_are_not_taken_back_with_it(as_coach: Client, comment: Comment):
    assert repeat(as_coach, comment, taken_back=[str(comment.code)]).status_code == 404
    assert comment in Comment.objects.kept()
