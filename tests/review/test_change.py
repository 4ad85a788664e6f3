"""The four addresses that scripts write to."""

from __future__ import annotations

import json
import uuid
from typing import Any

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
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)


def post(client: Client, url: str, **body: Any):
    return client.post(url, json.dumps(body), content_type="application/json")


def slip(cast: Cast, **changed: Any) -> dict[str, Any]:
    return {
        "code": str(uuid.uuid4()),
        "frame": 20,
        "last_frame": None,
        "swimmers": [str(cast.swimmer.code)],
        "verdict": "work on",
        "tag": "feet-low",
        "words": "Half way up.",
        "cue": "",
        "drill": "",
        "dose": "",
        "focus": False,
        **changed,
    }


@pytest.fixture
def comment(as_coach: Client, clip: Clip, cast: Cast) -> dict[str, Any]:
    written: dict[str, Any] = post(as_coach, f"/clips/{clip.code}/comments/", **slip(cast)).json()
    return written


def test_it_works(as_coach: Client, clip: Clip, cast: Cast):
    answer = post(as_coach, f"/clips/{clip.code}/comments/", **slip(cast, focus=True))
    assert answer.status_code == 201
    written = answer.json()
    assert (written["version"], written["name"]) == (1, "Feet not brought up to the hips")
    review = Review.objects.get()
    assert written["publish"] == [f"/reviews/{review.code}/publish/"]

    answer = post(as_coach, written["urls"]["change"], version=1, words="Higher.", last_frame=30)
    assert (answer.status_code, answer.json()["version"]) == (200, 2)
    assert (answer.json()["words"], answer.json()["lastFrame"]) == ("Higher.", 30)
    assert answer.json()["focus"]

    assert post(as_coach, written["urls"]["drop"]).json()["isDropped"]
    restored = post(as_coach, written["urls"]["restore"], focus=True).json()
    assert (restored["isDropped"], restored["focus"], restored["version"]) == (False, True, 4)


def test_kept_is_told_in_the_clubs_time(comment: dict[str, Any], cast: Cast):
    hours, minutes = comment["kept"].split(":")
    assert (len(hours), len(minutes)) == (2, 2)


def test_the_same_comment_sent_twice_is_one(as_coach: Client, clip: Clip, cast: Cast):
    body = slip(cast)
    url = f"/clips/{clip.code}/comments/"
    first, second = post(as_coach, url, **body), post(as_coach, url, **body)
    assert (first.status_code, second.status_code) == (201, 200)
    assert Comment.objects.count() == 1


def test_a_stale_version_answers_with_both_wordings(as_coach: Client, comment: dict[str, Any]):
    post(as_coach, comment["urls"]["change"], version=1, words="Dov's.")

    answer = post(as_coach, comment["urls"]["change"], version=1, words="Mine.")

    assert answer.status_code == 409
    both = answer.json()
    assert (both["yours"]["words"], both["theirs"]["words"]) == ("Mine.", "Dov's.")
    assert both["theirs"]["version"] == 2


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"tag": "nothing"}, "tag"),
        ({"frame": 51}, "frame"),
        ({"frame": "soon"}, "frame"),
        ({"verdict": "fine"}, "verdict"),
        ({"dose": "d" * 41}, "dose"),
        ({"words": "\x00"}, "words"),
        ({"swimmers": [str(uuid.uuid4())]}, "swimmers"),
        ({"swimmers": [7]}, "swimmers"),
        ({"swimmers": {}}, "swimmers"),
        ({"code": "x"}, "code"),
    ],
)
def test_what_cannot_be_kept_is_told_by_field(as_coach, clip, cast: Cast, changed, field):
    answer = post(as_coach, f"/clips/{clip.code}/comments/", **slip(cast, **changed))
    assert answer.status_code == 422
    assert list(answer.json()["errors"]) == [field]
    assert not Comment.objects.exists()


def test_nobody_outside_the_clip_is_named(as_coach: Client, clip: Clip, cast: Cast):
    sent = slip(cast, swimmers=[str(cast.mate.code)])

    answer = post(as_coach, f"/clips/{clip.code}/comments/", **sent)

    assert answer.status_code == 422
    assert "Noor" not in answer.content.decode()


def test_a_code_that_is_taken_is_refused(as_coach: Client, clip: Clip, cast: Cast):
    comment = commenting.write(clip, by=cast.assistant, at=NOW, frame=12, verdict="good")

    answer = post(as_coach, f"/clips/{clip.code}/comments/", **slip(cast, code=str(comment.code)))

    assert answer.status_code == 422
    assert list(answer.json()["errors"]) == ["code"]
    assert Comment.objects.count() == 1


def test_what_is_folded_too_deep_is_refused(as_coach: Client, clip: Clip):
    body = b"[" * 100_000 + b"]" * 100_000

    answer = as_coach.post(f"/clips/{clip.code}/comments/", body, "application/json")

    assert answer.status_code == 422


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b'"x"', b'{"words": "\\ud800"}', b"\xff"])
def test_what_cannot_be_read_lacks_its_fields(as_coach: Client, clip: Clip, body: bytes):
    answer = as_coach.post(f"/clips/{clip.code}/comments/", body, content_type="application/json")
    assert answer.status_code == 422
    assert {"code", "frame", "verdict"} == set(answer.json()["errors"])


def test_what_is_out_is_refused(as_coach: Client, comment: dict[str, Any]):
    Review.objects.update(state=Review.State.PUBLISHED)
    for name, body in [("change", {"version": 1, "words": "x"}), ("drop", {}), ("restore", {})]:
        answer = post(as_coach, comment["urls"][name], **body)
        assert (answer.status_code, list(answer.json()["errors"])) == (422, ["review"])


def test_an_assistant_drafts_and_changes_own_comments_only(clip, cast: Cast, comment):
    assistant = signed_in(cast.assistant)
    own = post(assistant, f"/clips/{clip.code}/comments/", **slip(cast))
    assert own.status_code == 201
    urls = own.json()["urls"]
    assert post(assistant, urls["change"], version=1, words="Mine.").status_code == 200

    for name in ("change", "drop", "restore"):
        assert post(assistant, comment["urls"][name], version=1).status_code == 403


@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "guardian", "swimmer_user", "second_adult", "welfare"]
)
def test_it_is_out_of_sight(clip: Clip, cast: Cast, comment: dict[str, Any], name: str):
    client = signed_in(getattr(cast, name))
    assert post(client, f"/clips/{clip.code}/comments/", **slip(cast)).status_code == 404
    for url in comment["urls"].values():
        assert post(client, url, version=1).status_code == 404
    assert Comment.objects.get().version == 1


def test_it_needs_a_token(cast: Cast, clip: Clip):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.coach)
    assert post(client, f"/clips/{clip.code}/comments/", **slip(cast)).status_code == 403


def test_it_rejects_get(as_coach: Client, clip: Clip, comment: dict[str, Any]):
    assert as_coach.get(f"/clips/{clip.code}/comments/").status_code == 405
    for url in comment["urls"].values():
        assert as_coach.get(url).status_code == 405
