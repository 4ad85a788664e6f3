"""The words of a stroke, which browsers keep."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.technique import catalogue
from portal.technique.models import Checkpoint, Drill, Edition, Fault, Rule
from tests.review import words
from tests.technique.test_catalogue import EMPTY, WHOLE, write

RULE = "One dolphin kick in the pullout, Rule book 7.1, edition of 2025, high"
URL = "/technique/breast/words.json"


@pytest.fixture
def load(db, tmp_path):
    """Makes the rows what a file says."""

    def load_again(text: str = WHOLE) -> None:
        catalogue.load(write(tmp_path, text))

    load_again()
    return load_again


def test_it_works(as_coach: Client):
    words.learn()

    answer = as_coach.get(URL)

    assert answer.status_code == 200
    told = answer.json()
    assert [point["slug"] for point in told["checkpoints"]] == ["heels-close", "one-dolphin"]
    feet, dolphins = told["faults"]
    assert feet == {
        "slug": "feet-low",
        "name": "Feet not brought up to the hips",
        "phase": "kick",
        "strokes": ["breast"],
        "point": "Heels close to the hips",
        "severity": "major",
        "see": "The heels stop half way.",
        "cue": "Heels to the hips, then kick.",
        "also": [],
        "cueYoung": "Feet up like a frog.",
        "drills": ["heels-to-hands"],
        "rules": [],
        "cautions": [],
    }
    assert dolphins["rules"] == [RULE]
    [drill] = told["drills"]
    assert (drill["dose"], drill["cautions"]) == ("4 x 25", ["Inner knee sore? No kick today."])


def test_other_strokes_have_other_words(as_coach: Client):
    words.learn()
    assert as_coach.get("/technique/fly/words.json").json()["faults"] == []
    assert len(as_coach.get("/technique/im/words.json").json()["faults"]) == 2


def test_a_browser_that_has_them_is_sent_nothing(as_coach: Client, load):
    first = as_coach.get(URL)
    assert first.headers["Cache-Control"] == "private, no-cache"
    tag = first.headers["ETag"]
    assert not tag.startswith("W/")

    again = as_coach.get(URL, headers={"If-None-Match": tag})

    assert (again.status_code, again.content) == (304, b"")
    assert (again.headers["ETag"], again.headers["Cache-Control"]) == (tag, "private, no-cache")
    other = as_coach.get("/technique/fly/words.json", headers={"If-None-Match": tag})
    assert other.status_code == 200, "the tag is of one stroke"


def test_another_wording_shows_at_the_next_request(as_coach: Client, load):
    tag = as_coach.get(URL).headers["ETag"]

    load(WHOLE.replace("Heels up.", "Heels to the hips."))

    answer = as_coach.get(URL, headers={"If-None-Match": tag})
    assert answer.status_code == 200
    assert "Heels to the hips." in answer.content.decode()


def test_a_retired_word_is_gone_at_the_next_request(as_coach: Client, load):
    answer = as_coach.get(URL)
    assert answer.json()["faults"]

    load(EMPTY)

    answer = as_coach.get(URL, headers={"If-None-Match": answer.headers["ETag"]})
    assert (answer.status_code, answer.json()["faults"]) == (200, [])
    # What was said with it before keeps its name on the slip.
    gone = {term["slug"]: term["name"] for term in answer.json()["unoffered"]}
    assert gone == {"heels": "Heels up", "low-heels": "Low heels"}


def test_loading_the_same_again_leaves_the_tag(as_coach: Client, load):
    tag = as_coach.get(URL).headers["ETag"]
    load()
    assert as_coach.get(URL).headers["ETag"] == tag


def test_words_that_no_load_vouches_for_are_not_kept(as_coach: Client):
    words.learn()
    assert not Edition.objects.exists()
    assert "ETag" not in as_coach.get(URL).headers


def test_whoever_may_not_see_them_is_not_told_that_they_hold(client: Client, cast, load):
    client.force_login(cast.coach)
    tag = client.get(URL).headers["ETag"]
    client.force_login(cast.guardian)
    assert client.get(URL, headers={"If-None-Match": tag}).status_code == 404


def test_the_whole_catalogue_takes_no_more_queries(as_coach: Client, db, tmp_path):
    catalogue.load()
    as_coach.get(URL)
    with CaptureQueriesContext(connection) as many:
        assert len(as_coach.get(URL).json()["faults"]) > 20
    for model in (Fault, Checkpoint, Drill, Rule):
        model.objects.all().delete()
    catalogue.load(write(tmp_path, WHOLE))
    as_coach.get(URL)
    with CaptureQueriesContext(connection) as few:
        assert len(as_coach.get(URL).json()["faults"]) == 1
    assert len(many) == len(few) <= 16


def test_a_rule_says_from_where_one_can_be_sure(as_coach: Client):
    learnt = words.learn()
    Rule.objects.update(views=" side-underwater wall-underwater ")
    told = as_coach.get(URL).json()["faults"]
    [rule] = next(each["rules"] for each in told if each["slug"] == learnt.dolphins.slug)
    assert rule == f"{RULE}. To be sure, film it: side, under water; wall, under water"
