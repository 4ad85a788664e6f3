"""A drawing as part of a comment: kept, changed, refused, and shown without script."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.db import IntegrityError
from django.template import engines
from django.test import Client
from PIL import Image, ImageColor

from portal.people.access import actor_for
from portal.recordings.models import Clip
from portal.review import chalk, commenting, drawing, publishing, slips
from portal.review.models import Comment
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words
from tests.review.drawings import ANGLE, ARROW, LINE, SIX, TEXT
from tests.review.drawings import drawing as of

CODE = "11111111-2222-4333-8444-555555555555"


@pytest.fixture
def clip(cast: Cast) -> Clip:
    words.learn()
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)


def write(clip: Clip, cast: Cast, **changed: Any) -> Comment:
    fields: dict[str, Any] = {"frame": 20, "verdict": "work on", "tag": "feet-low", **changed}
    return commenting.write(clip, by=cast.coach, at=NOW, **fields)


def post(client: Client, url: str, body: dict[str, Any]):
    return client.post(url, body, content_type="application/json")


def test_it_works(as_coach: Client, clip: Clip):
    sent = {"code": CODE, "frame": 20, "verdict": "work on", "drawing": SIX["mixed"]}

    answer = post(as_coach, f"/clips/{clip.code}/comments/", sent)

    assert answer.status_code == 201
    assert answer.json()["drawing"] == SIX["mixed"]
    assert Comment.objects.get().drawing == SIX["mixed"]


def test_it_can_be_changed_and_taken_away_alone(as_coach: Client, clip: Clip, cast: Cast):
    comment = write(clip, cast, words="Half way up.", drawing=of(LINE))
    url = f"/comments/{comment.code}/"

    changed = post(as_coach, url, {"version": 1, "drawing": of(LINE, ARROW)})
    assert changed.json()["drawing"] == of(LINE, ARROW)
    untouched = post(as_coach, url, {"version": 2, "words": "Half way."})
    assert untouched.json()["drawing"] == of(LINE, ARROW)
    gone = post(as_coach, url, {"version": 3, "drawing": None})
    assert gone.json()["drawing"] is None

    comment.refresh_from_db()
    assert (comment.drawing, comment.words) == (None, "Half way.")


def test_who_draws_on_an_older_version_is_shown_the_newer(as_coach: Client, clip: Clip, cast: Cast):
    comment = write(clip, cast, drawing=of(LINE))
    later = NOW + timedelta(minutes=1)
    commenting.change(comment, version=1, by=cast.assistant, at=later, drawing=of(ARROW))

    answer = post(as_coach, f"/comments/{comment.code}/", {"version": 1, "drawing": of(TEXT)})

    assert answer.status_code == 409
    assert answer.json()["theirs"]["drawing"] == of(ARROW)
    assert answer.json()["yours"]["drawing"] == of(TEXT)
    assert Comment.objects.get().drawing == of(ARROW)


@pytest.mark.parametrize("wrong", [{}, [], "line", 7, of(), of({**LINE, "c": "#d55e00"})])
def test_what_is_no_drawing_is_refused_and_nothing_kept(
    as_coach: Client, clip: Clip, wrong: object
):
    sent = {"code": CODE, "frame": 20, "verdict": "work on", "drawing": wrong}

    answer = post(as_coach, f"/clips/{clip.code}/comments/", sent)

    assert answer.status_code == 422
    assert list(answer.json()["errors"]) == ["drawing"]
    assert not Comment.objects.exists()


def test_the_verb_refuses_it_too(clip: Clip, cast: Cast):
    with pytest.raises(drawing.NoDrawing, match="at least one shape"):
        write(clip, cast, drawing=of())

    assert not Comment.objects.exists()


def test_a_note_without_film_has_none(cast: Cast):
    noted = staging.comment(staging.open_review(cast), None)
    noted.drawing = of(LINE)

    with pytest.raises(IntegrityError, match="a_drawing_needs_a_clip"):
        noted.save(update_fields=["drawing"])


def test_a_dropped_comment_comes_back_with_it(clip: Clip, cast: Cast):
    comment = write(clip, cast, drawing=of(LINE))

    dropped = commenting.drop(comment, by=cast.coach, at=NOW)
    restored = commenting.restore(dropped, by=cast.coach, at=NOW)

    assert restored.drawing == of(LINE)


def test_the_bench_reads_it_in_one_query(clip: Clip, cast: Cast, django_assert_num_queries):
    for frame in range(20, 30):
        write(clip, cast, frame=frame, drawing=SIX["mixed"])
    squad = clip.recording.session.squad
    actor = actor_for(cast.coach, at=NOW)
    slips.read(Comment.objects.all(), squad=squad, actor=actor)

    with django_assert_num_queries(1):
        read = slips.read(Comment.objects.all(), squad=squad, actor=actor)

    assert [slip["drawing"] for slip in read] == [SIX["mixed"]] * 10


# ---- as SVG, without script


def shown(made: dict[str, Any]) -> str:
    template = engines["django"].from_string("{% load chalking %}{% chalk made %}")
    return str(template.render({"made": made}))


def test_a_page_shows_it_without_script():
    page = shown(SIX["mixed"])

    assert page.count("<polyline") == 12, "six lines, each with its casing"
    assert page.count("Heels first – übers Wasser") == 3
    assert 'aria-label="Drawing of 6 shapes: Heels first – übers Wasser, 117° ± 2°"' in page
    assert "style=" not in page
    assert set(re.findall(r"#[0-9a-f]{6}", page)) == {
        *(chalk.CHALK, chalk.CASING, chalk.CLOTH, chalk.CLOTH_EDGE, chalk.FIGURE)
    }


def test_words_on_a_frame_are_only_words():
    page = shown(of({**TEXT, "s": '"><script>alert(1)</script>'}))

    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_the_page_before_publishing_shows_it(as_coach: Client, clip: Clip, cast: Cast):
    comment = write(clip, cast, drawing=of(ANGLE))

    page = as_coach.get(f"/reviews/{comment.reviews.get().code}/publish/")

    assert "Drawing of one shape: 117° ± 2°" in page.content.decode()


def test_of_a_hidden_clip_the_family_sees_no_drawing_either(cast: Cast):
    review = staging.evening(cast)
    comment = review.focus
    assert comment is not None
    Comment.objects.filter(pk=comment.pk).update(drawing=of(TEXT))
    publishing.publish(review, by=cast.coach, at=NOW)
    family, still = signed_in(cast.guardian), f"/stills/{comment.code}.jpg"
    assert family.get(still).status_code == 200

    Clip.objects.update(hidden_at=NOW)

    assert family.get(still).status_code == 404
    page = family.get(f"/notes/{review.code}/").content.decode()
    assert "Your hands part a second" in page
    assert "Heels first" not in page
    assert "polyline" not in page


# ---- painted


def painted(made: dict[str, Any], size: tuple[int, int], ground: str) -> Image.Image:
    picture = Image.new("RGB", size, ground)
    drawing.paint(picture, chalk.read(made))
    return picture


@pytest.mark.parametrize("ground", ["#ffffff", "#dff3ff", "#0b1d22", "#000000", "#60808c"])
def test_it_is_seen_on_bright_and_on_dark_water(ground: str):
    """Ink or edge stands out by at least 3 to 1, the least that WCAG 1.4.11 asks of shapes."""
    picture = painted(of(LINE), (640, 360), ground)
    there = set(map(tuple, np.asarray(picture)[150:230, 300:340].reshape(-1, 3).tolist()))

    def light(paint: tuple[int, ...]) -> float:
        """Relative luminance as WCAG 2.2 defines it."""
        parts = [each / 255 for each in paint]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    around = light(ImageColor.getrgb(ground))
    contrasts = [
        (max(light(paint), around) + 0.05) / (min(light(paint), around) + 0.05) for paint in there
    ]
    assert max(contrasts) >= 3


@pytest.mark.parametrize("size", [(304, 540), (1920, 1080), (97, 61)])
def test_it_fits_a_picture_of_any_size(size: tuple[int, int]):
    made = of({**LINE, "w": 0.03}, TEXT, ANGLE, aspect=size[0] / size[1])

    picture = painted(made, size, "#60808c")

    x, y = round(0.475 * size[0]), round(0.51 * size[1])
    middle = np.asarray(picture)[y - 3 : y + 4, x, 0]
    assert middle.max() > 200, "the line runs through its middle"
