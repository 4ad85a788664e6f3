"""A clip's comments as WebVTT and as Web Annotations, read as strictly as their specifications."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.recordings.models import Clip
from portal.review import publishing
from portal.review.captioning import Caption, as_annotations, as_vtt
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging

# https://www.w3.org/TR/webvtt1/#webvtt-timestamp and https://www.w3.org/TR/media-frags/#naming-time
TIMES = re.compile(
    r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3}) --> (\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})"
)
FRAGMENT = re.compile(r"t=(\d+\.\d{3}),(\d+\.\d{3})")
# https://www.w3.org/TR/annotation-vocab/#named-individuals
MOTIVATIONS = {"assessing", "commenting", "describing", "tagging"}
SOURCE = UUID(int=7)


def caption(**changed) -> Caption:
    fields: dict[str, Any] = {
        "code": uuid4(),
        "begins": 1.2,
        "ends": 1.24,
        "is_stretch": False,
        "verdict": "work on",
        "tag": "Heels to the hips",
        "words": "Half way up.",
        "cue": "Think: heels",
        "drill": "Heels to hands, 4 x 25",
        "drawing": "",
        "author": "Marta",
        "created": datetime(2026, 11, 19, 18, 30, tzinfo=UTC),
        "changed": datetime(2026, 11, 19, 18, 31, tzinfo=UTC),
    }
    return Caption(**{**fields, **changed})


def cues(text: str) -> list[tuple[str, float, float, str]]:
    """Of a file that keeps to every rule of the syntax; the words as a reader sees them."""
    header, *blocks = text.removesuffix("\n").split("\n\n")
    assert re.fullmatch(r"WEBVTT( [^\n\r]*)?", header)
    assert "-->" not in header
    assert "\0" not in text
    assert "\r" not in text
    found = []
    for block in blocks:
        name, times, *lines = block.split("\n")
        match = TIMES.fullmatch(times)
        assert match, times
        assert "-->" not in name
        assert all(line and "-->" not in line and "<" not in line for line in lines)
        assert all(re.match(r"&(amp|lt|gt);", line[at:]) for line in lines for at in ands(line))
        hours, minutes, seconds, milliseconds, *ending = map(int, match.groups())
        begins = hours * 3600 + minutes * 60 + seconds + milliseconds / 1000
        ends = ending[0] * 3600 + ending[1] * 60 + ending[2] + ending[3] / 1000
        assert ends > begins
        words = "\n".join(lines).replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
        found.append((name, begins, ends, words))
    assert found == sorted(found, key=lambda cue: cue[1]), "later cues begin no earlier"
    return found


def ands(line: str) -> list[int]:
    return [match.start() for match in re.finditer("&", line)]


def read_linked(text: str) -> list[dict[str, Any]]:
    """Of a collection that has all that the data model asks for."""
    read = json.loads(text)
    assert read["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert read["type"] == "AnnotationCollection"
    page = read["first"]
    assert (page["type"], page["partOf"], page["startIndex"]) == ("AnnotationPage", read["id"], 0)
    assert read["total"] == len(page["items"])
    assert read["last"] == page["id"]
    for item in page["items"]:
        assert item["type"] == "Annotation"
        assert item["id"] == f"urn:uuid:{UUID(item['id'].removeprefix('urn:uuid:'))}"
        assert item["motivation"] in MOTIVATIONS
        for moment in ("created", "modified"):
            assert datetime.fromisoformat(item[moment]).tzinfo
        assert item["body"]
        for body in item["body"]:
            assert body["type"] == "TextualBody"
            assert body["purpose"] in MOTIVATIONS
            assert (body["format"], body["language"]) == ("text/plain", "en-gb")
            assert body["value"]
        target = item["target"]
        assert target["type"] == "SpecificResource"
        assert target["selector"]["type"] == "FragmentSelector"
        assert target["selector"]["conformsTo"] == "http://www.w3.org/TR/media-frags/"
        match = FRAGMENT.fullmatch(target["selector"]["value"])
        assert match
        assert float(match[1]) < float(match[2])
    items: list[dict[str, Any]] = page["items"]
    return items


def annotated(*captions: Caption) -> list[dict[str, Any]]:
    text = as_annotations(
        captions, address="http://pool.example/x", source=SOURCE, title="", language="en-gb"
    )
    return read_linked(text)


def test_one_frame_stays_long_enough_to_be_read_and_a_stretch_as_long_as_it_is():
    text = as_vtt(
        [
            caption(begins=8.0, ends=8.04),
            caption(begins=1.0, ends=1.04),
            caption(begins=2.0, ends=2.5, is_stretch=True),
        ],
        title="19 November 2026",
        seconds=9.0,
    )
    assert text.startswith("WEBVTT 19 November 2026\n\n")
    found = [(begins, ends) for _name, begins, ends, _words in cues(text)]
    assert found == [(1.0, 4.0), (2.0, 2.5), (8.0, 9.0)]


def test_an_annotation_points_at_one_frame():
    [item] = annotated(caption())
    assert item["target"]["selector"]["value"] == "t=1.200,1.240"
    assert item["target"]["source"] == f"urn:uuid:{SOURCE}"
    assert item["creator"] == {"type": "Person", "name": "Marta"}
    assert [body["purpose"] for body in item["body"]] == ["assessing", "tagging", "commenting"]


def test_who_wrote_it_is_left_out_where_it_is_not_told():
    assert "creator" not in annotated(caption(author=""))[0]


TEXT = st.text(st.characters(codec="utf-8"), max_size=60)


@given(words=TEXT, cue=TEXT, title=TEXT, begins=st.floats(0, 3000), length=st.floats(0.004, 60))
def test_whatever_is_written_both_can_be_read(words, cue, title, begins, length):
    one = caption(words=words, cue=cue, begins=begins, ends=begins + length, is_stretch=True)
    also = f"{words}\n\n00:01.000 --> 00:02.000\n<i>&lt;"
    two = caption(words=also, begins=begins / 2, ends=begins / 2 + 0.04)

    found = cues(as_vtt([one, two], title=title, seconds=begins + length))
    assert len(found) == 2
    said = next(said for name, _begins, _ends, said in found if name == str(one.code))
    expected = [one.verdict + ": " + one.tag, *words.splitlines(), *cue.splitlines(), one.drill]
    assert said.split() == " ".join(expected).replace("\0", "�").replace("-->", "->").split()

    for item, written in zip(annotated(one, two), (one, two), strict=True):
        said = next(body["value"] for body in item["body"] if body["purpose"] == "commenting")
        assert said == "\n".join(filter(None, [written.words, written.cue, written.drill]))


# ---- over the web


@pytest.fixture
def review(cast: Cast) -> Review:
    return staging.evening(cast)


def clip_of(review: Review) -> Clip:
    return Clip.objects.get(comments__reviews=review, comments__verdict="work on")


def test_it_works(as_coach: Client, review: Review, cast: Cast):
    clip = clip_of(review)
    Comment.objects.update(staff_note="Quagga")

    vtt = as_coach.get(f"/clips/{clip.code}/comments.vtt")
    linked = as_coach.get(f"/clips/{clip.code}/comments.jsonld")

    assert vtt.headers["Content-Type"] == "text/vtt; charset=utf-8"
    assert vtt.headers["Content-Disposition"].startswith("attachment;")
    found = cues(vtt.content.decode())
    # The film has 30 frames a second.
    assert [round(begins * 30) for _name, begins, _ends, _words in found] == [12, 30, 45]
    assert "work on: Patient line off the wall" in found[1][3]
    assert "Push and ride, 6 x 15" in found[1][3]
    assert "looks not legal on this view" in found[2][3]
    assert linked.headers["Content-Type"].startswith("application/ld+json")
    items = read_linked(linked.content.decode())
    assert [item["target"]["selector"]["value"] for item in items] == [
        "t=0.400,0.433",
        "t=1.000,1.033",
        "t=1.500,1.533",
    ]
    for answer in (vtt, linked):
        assert "Quagga" not in answer.content.decode()
        assert "Ines" not in answer.content.decode()
    assert Entry.objects.filter(thing="clip", detail__export="vtt").count() == 1


def test_families_get_what_is_out(review: Review, cast: Cast):
    clip = clip_of(review)
    family = signed_in(cast.guardian)
    assert family.get(f"/clips/{clip.code}/comments.vtt").status_code == 404
    publishing.publish(review, by=cast.coach, at=NOW)
    mate = staging.open_review(cast, cast.mate)
    staging.comment(mate, clip, frame=50, words="Of somebody else, and not out.")

    text = family.get(f"/clips/{clip.code}/comments.vtt").content.decode()
    items = read_linked(family.get(f"/clips/{clip.code}/comments.jsonld").content.decode())

    assert len(cues(text)) == len(items) == 3
    assert "Of somebody else" not in text
    assert not any("creator" in item for item in items)


def test_without_a_copy_nobody_knows_when_a_frame_is(as_coach: Client, review: Review):
    clip = clip_of(review)
    clip.recording.renditions.all().delete()
    assert as_coach.get(f"/clips/{clip.code}/comments.vtt").status_code == 404


@pytest.mark.parametrize("name", ["other_coach", "rival_coach", "mate_guardian", "stranger"])
def test_it_is_out_of_sight(review: Review, cast: Cast, name: str):
    publishing.publish(review, by=cast.coach, at=NOW)
    client = signed_in(getattr(cast, name))
    for ending in ("vtt", "jsonld"):
        answer = client.get(f"/clips/{clip_of(review).code}/comments.{ending}")
        assert answer.status_code == 404
