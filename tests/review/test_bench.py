from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.audit.models import Entry
from portal.people.models import User
from portal.recordings.models import Clip, Recording, Session
from portal.review import commenting
from portal.review.models import Review
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

MOST_QUERIES = 12


@pytest.fixture
def clip(cast: Cast) -> Clip:
    words.learn()
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)


def write(clip: Clip, by: User, *, frame: int = 20, text: str = "Half way up.") -> None:
    commenting.write(
        clip, by=by, at=NOW, frame=frame, verdict="work on", tag="feet-low", words=text
    )


def test_it_works(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast.assistant)

    page = as_coach.get(f"/clips/{clip.code}/")

    assert page.status_code == 200
    text = page.content.decode()
    assert "Ines Falk" in text
    assert "Half way up." in text
    assert "0:00.33" in text, "the moment counts from the clip's first frame"
    assert 'data-first="10"' in text
    [remark] = page.context["remarks"]
    assert (remark["author"], remark["isOwn"], remark["mayChange"]) == ("Dov", False, True)
    [saw] = Entry.objects.filter(action=Entry.Action.SAW)
    assert (saw.thing_code, saw.actor_code) == (clip.code, cast.coach.code)


def test_without_javascript_it_says_so(as_coach: Client, clip: Clip):
    assert b"needs JavaScript" in as_coach.get(f"/clips/{clip.code}/").content


@pytest.mark.parametrize(
    ("asked", "frame"), [("30", 30), ("9", 10), ("51", 10), ("x", 10), ("²", 10)]
)
def test_a_link_opens_at_its_frame(as_coach: Client, clip: Clip, asked: str, frame: int):
    page = as_coach.get(f"/clips/{clip.code}/", {"f": asked})
    assert f'data-frame="{frame}"' in page.content.decode()


def test_a_clip_without_film_still_shows_what_was_said(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast.coach)
    clip.recording.renditions.all().delete()

    text = as_coach.get(f"/clips/{clip.code}/").content.decode()

    assert "Half way up." in text
    assert "data-film" not in text


def test_the_last_focus_is_in_sight(as_coach: Client, clip: Clip, cast: Cast):
    earlier = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course="25 m",
        date=cast.session.date - timedelta(days=7),
        created_by=cast.coach,
        created_at=NOW,
    )
    last = staging.cut(filmed.ready(cast, session=earlier), cast.swimmer)
    fields: dict[str, Any] = {
        "frame": 5,
        "verdict": "work on",
        "tag": "feet-low",
        "cue": "Ride the line.",
    }
    commenting.write(last, by=cast.coach, at=NOW, focus=True, **fields)
    url = f"/clips/{clip.code}/"
    assert "Ride the line." not in as_coach.get(url).content.decode(), "a draft is no last focus"

    Review.objects.update(state=Review.State.PUBLISHED)

    assert "Ride the line." in as_coach.get(url).content.decode()


def test_an_assistant_may_not_change_what_a_coach_wrote(clip: Clip, cast: Cast):
    write(clip, cast.coach)
    page = signed_in(cast.assistant).get(f"/clips/{clip.code}/")

    [remark] = page.context["remarks"]
    assert not remark["mayChange"]
    assert "Check and publish" not in page.content.decode()


def test_a_removed_clip_is_gone(as_coach: Client, clip: Clip):
    Clip.objects.update(removed_at=NOW)
    assert as_coach.get(f"/clips/{clip.code}/").status_code == 404
    assert as_coach.get(f"/clips/{uuid.uuid4()}/").status_code == 404


def test_a_clip_of_a_recording_thrown_away_is_gone(as_coach: Client, clip: Clip):
    Recording.objects.update(thrown_away_at=NOW)
    assert as_coach.get(f"/clips/{clip.code}/").status_code == 404


def test_a_clip_of_two_swimmers_names_both(as_coach: Client, clip: Clip, cast: Cast):
    clip.swimmers.add(cast.mate)
    commenting.write(
        clip, by=cast.coach, at=NOW, frame=20, verdict="good", swimmers=[cast.mate], words="Close."
    )

    page = as_coach.get(f"/clips/{clip.code}/")

    states = [(person.swimmer, person.flag) for person in page.context["bench"].persons]
    assert states == [(cast.swimmer, "none"), (cast.mate, "draft")]
    [remark] = page.context["remarks"]
    assert remark["swimmers"] == [str(cast.mate.code)]


@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "guardian", "swimmer_user", "second_adult", "welfare"]
)
def test_it_is_out_of_sight(clip: Clip, cast: Cast, name: str):
    assert signed_in(getattr(cast, name)).get(f"/clips/{clip.code}/").status_code == 404


def test_nobody_sees_it_without_signing_in(client: Client, clip: Clip):
    answer = client.get(f"/clips/{clip.code}/")
    assert answer.status_code == 302
    assert "/sign-in/" in answer.headers["Location"]


def test_thirty_comments_take_no_more_queries_than_one(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast.coach)
    as_coach.get(f"/clips/{clip.code}/")
    with CaptureQueriesContext(connection) as one:
        as_coach.get(f"/clips/{clip.code}/")
    for frame in range(11, 40):
        write(clip, cast.coach, frame=frame)
    with CaptureQueriesContext(connection) as thirty:
        page = as_coach.get(f"/clips/{clip.code}/")

    assert len(page.context["remarks"]) == 30
    assert len(thirty) == len(one) <= MOST_QUERIES


def test_a_second_swimmer_and_their_last_reviews_take_no_more(
    as_coach: Client, clip: Clip, cast: Cast
):
    with CaptureQueriesContext(connection) as alone:
        as_coach.get(f"/clips/{clip.code}/")
    clip.swimmers.add(cast.mate)
    write(clip, cast.assistant)
    for days in (7, 14):
        earlier = Session.objects.create(
            squad=cast.squad,
            pool=cast.pool,
            course="25 m",
            date=cast.session.date - timedelta(days=days),
            created_by=cast.coach,
            created_at=NOW,
        )
        for swimmer in (cast.swimmer, cast.mate):
            Review.objects.create(session=earlier, swimmer=swimmer, state=Review.State.PUBLISHED)
    with CaptureQueriesContext(connection) as both:
        page = as_coach.get(f"/clips/{clip.code}/")

    newest = {person.last.day for person in page.context["bench"].persons}
    assert newest == {cast.session.date - timedelta(days=7)}
    assert len(both) == len(alone)


def test_what_was_said_on_other_clips_is_counted(as_coach: Client, clip: Clip, cast: Cast):
    other = staging.cut(clip.recording, cast.swimmer, first=60, last=90)
    write(clip, cast.coach)
    write(other, cast.coach, frame=70)

    page = as_coach.get(f"/clips/{other.code}/")

    bench = page.context["bench"]
    [elsewhere] = bench.persons[0].other_clips
    assert (elsewhere.clip, elsewhere.verdicts) == (clip, [("work on", 1)])
    assert bench.work_on == 2
    assert f'href="/clips/{clip.code}/"' in page.content.decode()


def test_what_is_said_of_two_counts_once_here(as_coach: Client, clip: Clip, cast: Cast):
    clip.swimmers.add(cast.mate)
    write(clip, cast.coach)

    assert as_coach.get(f"/clips/{clip.code}/").context["bench"].work_on == 1


def test_when_all_is_out_nothing_invites_to_write(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast.coach)
    Review.objects.update(state=Review.State.PUBLISHED)
    [review] = Review.objects.all()

    coachs = as_coach.get(f"/clips/{clip.code}/").content.decode()
    assistants = signed_in(cast.assistant).get(f"/clips/{clip.code}/").content.decode()

    for text in (coachs, assistants):
        assert "These notes are out" in text
        assert "data-begin" not in text
    assert coachs.count(f'href="/reviews/{review.code}/publish/"') == 2
    assert "/publish/" not in assistants.split("<script", 1)[0]
    assert "a coach has to take them back" in assistants


def test_whose_notes_are_out_cannot_be_written_to(as_coach: Client, clip: Clip, cast: Cast):
    write(clip, cast.coach)
    Review.objects.update(state=Review.State.PUBLISHED)
    clip.swimmers.add(cast.mate)

    text = as_coach.get(f"/clips/{clip.code}/").content.decode()

    assert "data-begin" in text
    assert f'value="{cast.swimmer.code}" disabled' in text
    assert f'value="{cast.mate.code}" checked' in text


def test_the_cast_shows_how_far_each_review_is(as_coach: Client, clip: Clip, cast: Cast):
    other = staging.cut(clip.recording, cast.mate, first=0, last=9)
    write(clip, cast.coach)
    Review.objects.update(state=Review.State.PUBLISHED)

    bench = as_coach.get(f"/clips/{other.code}/").context["bench"]

    assert [(m.swimmer, m.flag, m.is_here) for m in bench.cast] == [
        (cast.swimmer, "out", False),
        (cast.mate, "none", True),
    ]
