from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.jobs import queueing
from portal.recordings import cutting
from portal.recordings.models import Recording, Session
from portal.review import commenting
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast, consent_to_all, make_swimmer, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

MOST_QUERIES = 12


def film_later(cast: Cast) -> None:
    """A newer session with film, so that the cast's own is an earlier one."""
    later = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY + timedelta(days=3),
        created_by=cast.coach,
        created_at=NOW,
    )
    filmed.ready(cast, session=later)


def flags(page) -> dict[str, str]:
    return {row.swimmer.first_name: row.flag for row in page.context["evening"].rows}


def test_it_works(as_coach: Client, cast: Cast):
    words.learn()
    recording = filmed.ready(cast)
    clip = staging.cut(recording, cast.swimmer, first=0, last=29)
    staging.cut(recording, cast.mate, first=30, last=59)
    commenting.write(
        clip, by=cast.assistant, at=NOW, frame=3, verdict="good", tag="heels-close", words="Close."
    )

    page = as_coach.get("/")

    assert flags(page) == {"Ines": "draft", "Noor": "none"}
    text = page.content.decode()
    assert "2 swimmers are on film. 1 is begun, 1 is not begun." in text
    assert f"/clips/{clip.code}/" in text
    assert "by Dov" in text


def test_an_empty_desk_says_what_comes(as_coach: Client, cast: Cast):
    assert b"Nothing filmed yet" in as_coach.get("/").content


def test_who_is_not_cut_yet_waits_to_be_sorted(as_coach: Client, cast: Cast):
    consented = make_swimmer(cast.club, cast.squad, "Ola Brandt", born=date(2013, 1, 1))
    consent_to_all(consented, cast.guardian)
    make_swimmer(cast.club, cast.squad, "Unasked Child", born=date(2013, 1, 1))
    staging.cut(filmed.ready(cast), cast.swimmer)
    waiting = filmed.ready(cast)

    page = as_coach.get("/")

    assert flags(page) == {"Ines": "none", "Noor": "to sort", "Ola": "to sort"}
    assert [take.recording for take in page.context["evening"].to_sort] == [waiting]
    assert f"/recordings/{waiting.code}/" in page.content.decode()


def test_a_recording_on_its_way_shows_its_beads(as_coach: Client, cast: Cast):
    waiting = filmed.recording(cast)
    queueing.enqueue(
        "recordings.prepare",
        key=f"prepare:{waiting.code}",
        payload={"recording": str(waiting.code)},
        at=NOW,
    )
    assert b"progressbar" in as_coach.get("/").content


def test_a_failed_recording_says_why(as_coach: Client, cast: Cast):
    filmed.ready(cast)
    Recording.objects.update(state=Recording.State.FAILED, problem="This is no film.")
    assert b"This is no film." in as_coach.get("/").content


def test_what_failed_does_not_wait_to_be_sorted(as_coach: Client, cast: Cast):
    stuck = filmed.recording(cast)
    staging.cut(filmed.ready(cast), cast.swimmer)

    page = as_coach.get("/")

    text = page.content.decode()
    assert "1 recording could not be made ready." in text
    assert "waits to be sorted" not in text
    assert "It could not be made ready." in text
    assert [take.recording for take in page.context["evening"].uncut] == [stuck]
    assert flags(page) == {"Ines": "none"}, "nobody is to be sorted out of what cannot be played"


def test_the_first_that_can_be_sorted_stands_out(as_coach: Client, cast: Cast):
    failed, first, second = filmed.recording(cast), filmed.ready(cast), filmed.ready(cast)

    page = as_coach.get("/")

    takes = page.context["evening"].uncut
    assert [take.recording for take in takes if take.is_next] == [first]
    assert [take.recording for take in page.context["evening"].to_sort] == [first, second]
    assert page.content.decode().count('class="do small"') == 1
    assert reverse("recordings:sorting", args=[failed.code]) not in page.content.decode()


def test_what_is_out_hangs_first_and_leads_to_its_readers(as_coach: Client, cast: Cast):
    review = staging.evening(cast)
    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)

    page = as_coach.get("/")

    assert flags(page)["Ines"] == "out"
    assert f"/reviews/{review.code}/publish/" in page.content.decode()


def test_a_review_whose_comments_were_all_dropped_has_not_begun(as_coach: Client, cast: Cast):
    words.learn()
    clip = staging.cut(filmed.ready(cast), cast.swimmer)
    comment = commenting.write(clip, by=cast.coach, at=NOW, frame=3, verdict="good", words="Oh.")
    commenting.drop(comment, by=cast.coach, at=NOW)
    assert flags(as_coach.get("/")) == {"Ines": "none"}


def test_the_newest_session_with_film_counts(as_coach: Client, cast: Cast):
    staging.cut(filmed.ready(cast), cast.swimmer)
    Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course="25 m",
        date=cast.session.date + timedelta(days=1),
        created_by=cast.coach,
        created_at=NOW,
    )
    assert as_coach.get("/").context["evening"].session == cast.session


def test_what_an_earlier_session_left_undone_stays_in_sight(as_coach: Client, cast: Cast):
    words.learn()
    begun = staging.cut(filmed.ready(cast), cast.swimmer)
    commenting.write(begun, by=cast.coach, at=NOW, frame=3, verdict="good", words="Close.")
    out = staging.cut(begun.recording, cast.mate)
    Review.objects.create(
        session=cast.session, swimmer=cast.mate, state=Review.State.PUBLISHED, published_at=NOW
    )
    film_later(cast)

    page = as_coach.get("/")

    assert [one.swimmer for one in page.context["evening"].left] == ["Ines Falk"]
    assert reverse("review:bench", args=[begun.code]) in page.content.decode()
    assert reverse("review:bench", args=[out.code]) not in page.content.decode()


def test_of_two_in_one_clip_the_one_whose_notes_are_out_is_not_left(as_coach: Client, cast: Cast):
    staging.cut(filmed.ready(cast), cast.swimmer, cast.mate)
    Review.objects.create(
        session=cast.session, swimmer=cast.mate, state=Review.State.PUBLISHED, published_at=NOW
    )
    film_later(cast)

    left = as_coach.get("/").context["evening"].left

    assert [one.swimmer for one in left] == ["Ines Falk"]


def test_what_was_removed_is_left_undone_no_more(as_coach: Client, cast: Cast):
    clip = staging.cut(filmed.ready(cast), cast.swimmer)
    cutting.remove(clip, by=cast.coach, at=NOW)
    film_later(cast)

    assert as_coach.get("/").context["evening"].left == []


def test_another_squads_evening_is_out_of_sight(cast: Cast):
    staging.cut(filmed.ready(cast), cast.swimmer)
    assert signed_in(cast.other_coach).get("/").context["evening"] is None
    assert signed_in(cast.rival_coach).get("/").context["evening"] is None
    assert signed_in(cast.head_coach).get("/").context["evening"].session == cast.session


def test_forty_swimmers_take_no_more_queries_than_one(as_coach: Client, cast: Cast):
    words.learn()
    recording = filmed.ready(cast)
    filmed.ready(cast)
    clip = staging.cut(recording, cast.swimmer)
    commenting.write(clip, by=cast.assistant, at=NOW, frame=3, verdict="good", words="Close.")
    as_coach.get("/")
    with CaptureQueriesContext(connection) as few:
        as_coach.get("/")
    for number in range(39):
        swimmer = make_swimmer(cast.club, cast.squad, f"More {number}", born=date(2013, 1, 1))
        clip = staging.cut(recording, swimmer)
        for frame in (1, 2):
            commenting.write(
                clip, by=cast.assistant, at=NOW, frame=frame, verdict="work on", tag="feet-low"
            )
    with CaptureQueriesContext(connection) as many:
        page = as_coach.get("/")
    assert len(page.context["evening"].rows) == 41, "and one waits to be sorted"
    assert len(many) == len(few) <= MOST_QUERIES


@pytest.mark.parametrize("name", ["guardian", "swimmer_user"])
def test_families_go_to_their_notes(cast: Cast, name: str):
    answer = signed_in(getattr(cast, name)).get("/")
    assert (answer.status_code, answer.headers["Location"]) == (302, "/notes/")


def test_a_second_adult_finds_what_is_out(cast: Cast):
    review = staging.evening(cast)
    second_adult = signed_in(cast.second_adult)
    assert f"/notes/{review.code}/" not in second_adult.get("/").content.decode()

    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)

    assert f"/notes/{review.code}/" in second_adult.get("/").content.decode()


def test_the_welfare_officer_and_a_stranger_read_what_they_may_do(cast: Cast):
    assert b"welfare officer" in signed_in(cast.welfare).get("/").content
    assert b"Nobody has given you anything" in signed_in(cast.stranger).get("/").content


def test_nobody_sees_it_without_signing_in(client: Client):
    assert client.get("/").status_code == 302
