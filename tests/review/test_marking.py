"""Marks on a clip, and the figures that they give with what the frames leave open."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from portal.recordings.models import Clip, Recording, Rendition, View
from portal.recordings.timing import pack_times
from portal.review import figuring, marking
from portal.review.figuring import Moment
from portal.review.models import Mark
from portal.technique.models import Stroke
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.recordings import filmed

Kind = Mark.Kind
GAP = 1 / 30


@pytest.fixture
def clip(cast: Cast) -> Clip:
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=280)


def post(client: Client, url: str, **body: Any) -> Any:
    return client.post(url, body, content_type="application/json")


def put(client: Client, clip: Clip, kind: str, frame: int, **body: Any) -> Any:
    body = {"code": str(uuid.uuid4()), "kind": kind, "frame": frame, **body}
    return post(client, f"/clips/{clip.code}/marks/", **body)


def at(kind: str, seconds: float, number: float = 0) -> Moment:
    return Moment(kind, frame=round(seconds * 30), seconds=seconds, gap=GAP, number=number)


def told(*moments: Moment, stroke: str = "breast") -> dict[str, tuple[str, str]]:
    found = figuring.figures(sorted(moments, key=lambda one: one.seconds), stroke=stroke)
    return {one.name: (one.value, one.error) for one in found}


def test_it_works(as_coach: Client, clip: Clip):
    """At 30 frames a second: 45 frames are 1.5 s, three cycles in 90 frames are 60 a minute."""
    put(as_coach, clip, "left", 40)
    put(as_coach, clip, "breakout", 85)
    put(as_coach, clip, "entry", 100)
    answer = put(as_coach, clip, "entry", 190, number=4)

    assert answer.status_code == 200
    page = answer.json()
    assert [(mark["kind"], mark["frame"], mark["number"]) for mark in page["marks"]] == [
        ("left", 40, None),
        ("breakout", 85, None),
        ("entry", 100, 1.0),
        ("entry", 190, 4.0),
    ]
    figures = {one["name"]: (one["value"], one["error"], one["frame"]) for one in page["figures"]}
    assert figures == {
        "Under water": ("1.50 s", "at most 0.04 s off", 40),
        "Stroke rate": ("60.0 a minute", "from 59.3 to 60.7", 100),
        "Cycle time": ("1.00 s", "from 0.98 to 1.02", 100),
    }
    assert page == as_coach.get(f"/clips/{clip.code}/marks/").json()


def test_a_mark_is_set_once_however_often_it_is_sent(as_coach: Client, clip: Clip):
    code = str(uuid.uuid4())
    for _again in range(2):
        assert put(as_coach, clip, "touch", 50, code=code).status_code == 200
    assert clip.marks.count() == 1
    assert put(as_coach, clip, "touch", 50).status_code == 422, "by another hand"


def test_lifting_and_setting_back(as_coach: Client, clip: Clip, cast: Cast):
    put(as_coach, clip, "touch", 50)
    mark = clip.marks.get()
    address = f"/marks/{mark.code}/"
    assert post(as_coach, address, lifted=True).json()["marks"] == []
    put(as_coach, clip, "touch", 50)
    assert post(as_coach, address, lifted=False).status_code == 422, "it stands there anew"
    other = clip.marks.standing().get()
    post(as_coach, f"/marks/{other.code}/", lifted=True)
    [back] = post(as_coach, address, lifted=False).json()["marks"]
    assert (back["code"], mark.set_by) == (str(mark.code), cast.coach)


def test_cycles_count_on_and_may_be_counted_otherwise(as_coach: Client, clip: Clip):
    for frame in (60, 90, 120):
        put(as_coach, clip, "entry", frame)
    third = clip.marks.get(frame=120)
    assert third.number == 3
    page = post(as_coach, f"/marks/{third.code}/", number=7.0).json()
    assert page["marks"][-1]["number"] == 7.0
    assert {one["name"]: one["value"] for one in page["figures"]}["Stroke rate"] == "180.0 a minute"


@pytest.mark.parametrize(
    "body",
    [
        {"frame": 9},
        {"frame": 281},
        {"frame": -1},
        {"frame": "x"},
        {"kind": "dive"},
        {"code": "x"},
        {"kind": "going", "number": 500},
        {"kind": "going", "number": -1},
    ],
)
def test_what_is_no_mark_of_this_clip_is_refused(
    as_coach: Client, clip: Clip, body: dict[str, Any]
):
    answer = put(as_coach, clip, **{"kind": "left", "frame": 20, **body})
    assert answer.status_code == 422
    assert all(answer.json()["errors"].values())
    assert not clip.marks.exists()


def test_a_clip_has_so_many_marks_and_no_more(as_coach: Client, clip: Clip, monkeypatch):
    monkeypatch.setattr(marking, "MOST", 1)
    put(as_coach, clip, "left", 20)
    answer = put(as_coach, clip, "left", 30)
    assert (answer.status_code, clip.marks.count()) == (422, 1)


def test_a_mark_outside_a_clip_that_was_cut_shorter_says_nothing(as_coach: Client, clip: Clip):
    put(as_coach, clip, "left", 20)
    put(as_coach, clip, "breakout", 270)
    Clip.objects.update(last_frame=200)
    page = as_coach.get(f"/clips/{clip.code}/marks/").json()
    assert ([mark["frame"] for mark in page["marks"]], page["figures"]) == ([20], [])


def test_without_a_copy_there_are_no_figures(as_coach: Client, clip: Clip):
    for kind, frame in (("left", 20), ("breakout", 60)):
        put(as_coach, clip, kind, frame)
    Rendition.objects.all().delete()
    page = as_coach.get(f"/clips/{clip.code}/marks/").json()
    assert (len(page["marks"]), page["figures"]) == (2, [])


def test_slow_motion_is_told_in_the_seconds_of_the_water(as_coach: Client, clip: Clip):
    Recording.objects.update(filmed_rate=240)
    put(as_coach, clip, "left", 40)

    page = put(as_coach, clip, "breakout", 280).json()

    assert page["figures"][0]["value"] == "1.000 s"


def test_uneven_frames_are_told_by_their_times(as_coach: Client, clip: Clip):
    """The frame before the second mark took ten times as long."""
    copy = clip.recording.renditions.get()
    ticks = [number * 3000 + (27_000 if number >= 50 else 0) for number in range(300)]
    Rendition.objects.filter(pk=copy.pk).update(packed_times=pack_times(ticks))
    put(as_coach, clip, "left", 20)
    [figure] = put(as_coach, clip, "breakout", 50).json()["figures"]
    assert (figure["value"], figure["error"]) == ("1.30 s", "at most 0.34 s off")


def test_a_film_that_may_be_slow_motion_says_whose_seconds_these_are(as_coach: Client, clip: Clip):
    recording = clip.recording
    recording.facts = {**recording.facts, "filmed_rate": 120.0}
    recording.save(update_fields=["facts"])
    address = f"/clips/{clip.code}/marks/"
    assert "120 frames a second" in as_coach.get(address).json()["pace"]
    recording.filmed_rate = 120.0
    recording.save(update_fields=["filmed_rate"])
    assert as_coach.get(address).json()["pace"].startswith("Slow motion")
    recording.filmed_rate = 30.0
    recording.save(update_fields=["filmed_rate"])
    assert as_coach.get(address).json()["pace"] == ""


def test_what_there_is_to_mark(clip: Clip):
    assert Kind.PULL in marking.kinds_for(clip)
    assert Kind.TOES not in marking.kinds_for(clip)
    clip.stroke = Stroke.MEDLEY
    assert Kind.PULL in marking.kinds_for(clip)
    clip.stroke, clip.view = Stroke.FREE, View.BLOCK
    assert Kind.PULL not in marking.kinds_for(clip)
    assert Kind.TOES in marking.kinds_for(clip)


def test_more_marks_take_no_more_queries(as_coach: Client, clip: Clip, cast: Cast):
    put(as_coach, clip, "entry", 20)
    as_coach.get(f"/clips/{clip.code}/marks/")
    with CaptureQueriesContext(connection) as one:
        as_coach.get(f"/clips/{clip.code}/marks/")
    for frame in range(21, 60):
        marking.put(
            clip,
            code=uuid.uuid4(),
            kind="entry",
            frame=frame,
            number=Decimal(frame),
            by=cast.coach,
            at=NOW + timedelta(minutes=1),
        )
    with CaptureQueriesContext(connection) as many:
        as_coach.get(f"/clips/{clip.code}/marks/")
    assert len(many) == len(one)


# ---- the figures; values that follow from the definitions alone


def test_a_turn_in_its_parts():
    found = told(
        at("coming", 1.0, 5),
        at("touch", 3.5),
        at("left", 4.0),
        at("breakout", 6.5),
        at("going", 9.0, 15),
    )
    assert found == {
        "To the wall": ("2.50 s", "at most 0.04 s off"),
        "The turn": ("8.00 s", "at most 0.07 s off"),
        "On the wall": ("0.50 s", "at most 0.04 s off"),
        "Wall to 15 m": ("5.00 s", "at most 0.04 s off"),
        "Under water": ("2.50 s", "at most 0.04 s off"),
    }


def test_the_pull_out():
    found = told(at("left", 1.0), at("pull", 2.5), at("dolphin", 2.6), at("kick", 4.0))
    assert found["Line held"] == ("1.50 s", "at most 0.04 s off")
    assert found["Pull to kick"] == ("1.50 s", "at most 0.04 s off")
    assert found["Dolphin kick"] == ("1.60 s", "at most 0.04 s off")


@pytest.mark.parametrize(("kick", "words"), [(2.0, "had not begun"), (2.5, "had begun")])
def test_the_kick_is_told_and_not_judged(kick: float, words: str):
    moments = [at("left", 1.0), at("dolphin", kick), at("pull", 2.5), at("kick", 4.0)]
    found = figuring.figures(sorted(moments, key=lambda one: one.seconds), stroke="breast")
    [line] = [one for one in found if one.name == "Dolphin kick"]
    assert words in line.means
    assert not any(word in line.means.lower() for word in ("legal", "fault", "rule", "wrong"))


def test_speed_and_how_far_a_cycle_carries():
    """10 m in 6.25 s are 1.60 m/s; three cycles in 3.3 s are 54.5 a minute and so 1.76 m."""
    found = told(
        at("going", 1.0, 10), at("going", 7.25, 20), at("entry", 1.5, 1), at("entry", 4.8, 4)
    )
    assert found["Speed"] == ("1.60 m a second", "from 1.59 to 1.61")
    assert found["Stroke rate"] == ("54.5 a minute", "from 54.0 to 55.2")
    assert found["Distance per cycle"] == ("1.76 m", "from 1.73 to 1.79")


def test_a_rate_is_not_worked_out_across_a_wall():
    rates = figuring.figures(
        [
            at("entry", 1, 1),
            at("entry", 2, 2),
            at("touch", 3),
            at("left", 3.2),
            at("entry", 8, 3),
            at("entry", 10, 4),
        ],
        stroke="free",
    )
    values = [one.value for one in rates if one.name == "Stroke rate"]
    assert values == ["60.0 a minute", "30.0 a minute"]


def test_two_walls_in_one_clip_are_two():
    found = figuring.figures(
        [at("left", 1), at("breakout", 3), at("touch", 20), at("left", 21), at("breakout", 24)],
        stroke="free",
    )
    values = [(one.name, one.value) for one in found if one.name == "Under water"]
    assert values == [("Under water", "2.00 s"), ("Under water", "3.00 s")]


def test_kicks_and_take_overs():
    assert told(at("dolphin", 1, 1), at("dolphin", 3, 5))["Kick rate"][0] == "2.00 a second"
    assert told(at("toes", 1.0), at("touch", 1.02))["Take-over"][0] == "-0.02 s"


def test_frames_at_240_a_second_are_told_in_thousandths():
    moments = [Moment("left", 0, 0.0, 1 / 240), Moment("breakout", 100, 1.2345, 1 / 240)]
    [found] = figuring.figures(moments, stroke="free")
    assert (found.value, found.error) == ("1.234 s", "at most 0.005 s off")


def test_marks_that_give_nothing_say_why():
    [found] = figuring.figures([at("entry", 1, 2), at("entry", 3, 2)], stroke="free")
    assert (found.value, found.error) == ("", "")
    assert found.means


@given(
    st.lists(
        st.tuples(st.sampled_from(Kind.values), st.integers(0, 600), st.integers(0, 50)),
        max_size=12,
        unique_by=lambda one: one[:2],
    ),
    st.sampled_from(Stroke.values),
)
def test_whatever_is_marked_every_figure_lies_within_its_error(marks, stroke: str):
    moments = sorted(
        (at(kind, frame / 30, number) for kind, frame, number in marks), key=lambda m: m.seconds
    )
    for one in figuring.figures(moments, stroke=stroke):
        assert one.name
        assert one.means
        if one.error.startswith("from"):
            low, high = (float(word) for word in one.error.split() if word[0].isdigit())
            assert low <= float(one.value.split()[0]) <= high
