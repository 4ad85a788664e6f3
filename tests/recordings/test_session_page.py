"""One session: its recordings and their state, its clips, and throwing away."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs import queueing
from portal.jobs.models import Job
from portal.people.models import Consent
from portal.recordings import listing
from portal.recordings.models import Recording, Showing
from tests.cast import NOW, Cast, signed_in
from tests.recordings import filmed

HTMX = {"HX-Request": "true"}


def url(name: str, thing) -> str:
    return reverse(f"recordings:{name}", args=[thing.code])


def job_of(recording: Recording, **fields) -> Job:
    job = queueing.enqueue(
        "recordings.prepare",
        key=listing.job_key(recording),
        payload={"recording": str(recording.code)},
        at=NOW,
    )
    Job.objects.filter(pk=job.pk).update(**fields)
    job.refresh_from_db()
    return job


def test_it_works(cast: Cast, as_coach: Client):
    clip = filmed.clip(cast, filmed.ready(cast, name="lane 4.mp4"), cast.swimmer)

    page = as_coach.get(url("session", cast.session))

    words = page.content.decode()
    assert page.status_code == 200
    assert "lane 4.mp4" in words
    assert reverse("review:bench", args=[clip.code]) in words
    assert "at most 6.0\xa0GB and 45 minutes" in words
    assert [(flag.swimmer, flag.state) for flag in page.context["flags"]] == [
        (cast.swimmer, "draft"),
        (cast.mate, "none"),
    ]


def test_a_shown_clip_hangs_out(cast: Cast, as_coach: Client):
    clip = filmed.clip(cast, filmed.ready(cast), cast.swimmer, cast.mate)
    Showing.objects.create(clip=clip, swimmer=cast.mate, since=NOW)

    flags = as_coach.get(url("session", cast.session)).context["flags"]

    assert [flag.state for flag in flags] == ["draft", "out"]


def test_who_may_not_be_filmed_is_named(cast: Cast, as_coach: Client):
    Consent.objects.filter(swimmer=cast.mate, purpose=Consent.Purpose.FILM).delete()

    page = as_coach.get(url("session", cast.session))

    words = page.content.decode()
    assert "Noor Haan has no consent to film." in words
    assert "If Noor is in the picture, do not cut that stretch; throw the take away" in words
    assert [flag.swimmer for flag in page.context["flags"]] == [cast.swimmer]


def test_a_clip_of_two_that_both_families_see_counts_once(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast)
    clip = filmed.clip(cast, recording, cast.swimmer, cast.mate)
    for swimmer in (cast.swimmer, cast.mate):
        Showing.objects.create(clip=clip, swimmer=swimmer, since=NOW)

    page = as_coach.get(url("session", cast.session))

    assert {(flag.swimmer, len(flag.clips), flag.is_out) for flag in page.context["flags"]} == {
        (cast.swimmer, 1, True),
        (cast.mate, 1, True),
    }
    assert [take.clip_count for take in page.context["takes"]] == [1]


def test_who_was_filmed_and_left_the_list_keeps_their_flag(cast: Cast, as_coach: Client):
    filmed.clip(cast, filmed.ready(cast), cast.mate)
    cast.mate.places.all().delete()

    flags = as_coach.get(url("session", cast.session)).context["flags"]

    assert [(flag.swimmer, flag.state) for flag in flags] == [
        (cast.swimmer, "none"),
        (cast.mate, "draft"),
    ]


def test_the_page_takes_no_more_queries_as_it_grows(cast: Cast, as_coach: Client):
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            as_coach.get(url("session", cast.session))
        return len(caught)

    filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    few = queries()
    for _ in range(20):
        recording = filmed.ready(cast)
        job_of(recording)
        filmed.clip(cast, recording, cast.swimmer, cast.mate)

    assert queries() == few


def test_a_waiting_recording_asks_how_far_it_is(cast: Cast, as_coach: Client):
    recording = filmed.recording(cast)
    job_of(recording, state=Job.State.RUNNING, progress=0.41)

    part = as_coach.get(url("state", recording), headers=HTMX).content.decode()

    assert "Being made ready, 41 of 100. You may leave." in part
    assert f'hx-get="{url("state", recording)}"' in part
    assert part.count('class="on"') == 10
    assert "<html" not in part


def test_a_ready_recording_asks_no_more(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast, problem="Shortened: 3 of its 300 pictures are missing.")

    part = as_coach.get(url("state", recording), headers=HTMX).content.decode()

    assert "hx-get" not in part
    assert url("sorting", recording) in part
    assert "Shortened: 3 of its 300" in part


def test_the_state_alone_is_no_page(cast: Cast, as_coach: Client):
    answer = as_coach.get(url("state", filmed.ready(cast)))

    assert answer.headers["Location"] == url("session", cast.session)


def test_the_list_of_recordings_comes_alone_when_asked_for(cast: Cast, as_coach: Client):
    filmed.ready(cast, name="lane 4.mp4")

    part = as_coach.get(url("session", cast.session), headers=HTMX).content.decode()

    assert "lane 4.mp4" in part
    assert "<html" not in part


def test_what_failed_is_tried_again(cast: Cast, as_coach: Client):
    recording = filmed.recording(cast)
    job = job_of(recording, state=Job.State.FAILED, problem="No room was left.", attempts=3)
    assert "No room was left." in as_coach.get(url("session", cast.session)).content.decode()

    as_coach.post(url("again", recording))

    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.QUEUED, 0)


def test_what_can_never_work_is_only_thrown_away(cast: Cast, as_coach: Client):
    recording = filmed.recording(
        cast, state=Recording.State.FAILED, problem="This file holds only sound."
    )
    job = job_of(recording, state=Job.State.FAILED, problem="This file holds only sound.")

    words = as_coach.get(url("session", cast.session)).content.decode()
    as_coach.post(url("again", recording))

    assert "This file holds only sound." in words
    assert "1 film, 1 could not be made ready" in words
    assert url("again", recording) not in words
    assert url("throw_away", recording) in words
    job.refresh_from_db()
    assert job.state == Job.State.FAILED


def test_only_the_first_to_sort_stands_out(cast: Cast, as_coach: Client):
    filmed.clip(cast, filmed.ready(cast, name="begun.mp4"), cast.swimmer)
    first, second = filmed.ready(cast), filmed.ready(cast)

    page = as_coach.get(url("session", cast.session)).content.decode()
    parts = [
        as_coach.get(url("state", each), headers=HTMX).content.decode() for each in (first, second)
    ]

    assert page.count('class="do small"') == 1
    assert f'class="do small" href="{url("sorting", first)}"' in page
    assert ['class="do small"' in part for part in parts] == [True, False]


def test_an_uneven_film_is_given_no_rate(cast: Cast, as_coach: Client):
    facts = {**filmed.FACTS, "rate": 30.2, "is_variable": True}
    recording = filmed.ready(cast, facts=facts)

    for name, thing in [("session", cast.session), ("sorting", recording)]:
        words = as_coach.get(url(name, thing)).content.decode()
        assert "frames of uneven length" in words
        assert "30.2" not in words


def test_a_name_that_does_not_fit_is_read_whole(cast: Cast, as_coach: Client):
    filmed.ready(cast, name="PXL_20261119_183000123_juniors_lane_4.mp4")

    words = as_coach.get(url("session", cast.session)).content.decode()

    assert 'title="PXL_20261119_183000123_juniors_lane_4.mp4"' in words


def test_a_job_that_gave_up_has_failed_its_recording(cast: Cast, as_coach: Client):
    recording = filmed.recording(cast)
    job_of(recording, state=Job.State.FAILED, problem="This did not work.")

    part = as_coach.get(url("state", recording), headers=HTMX).content.decode()

    assert "This did not work." in part
    assert url("again", recording) in part


def test_a_recording_that_was_never_handed_on_is_not_lost(cast: Cast, as_coach: Client):
    recording = filmed.recording(cast)
    assert url("again", recording) in as_coach.get(url("session", cast.session)).content.decode()

    as_coach.post(url("again", recording))

    assert Job.objects.get(key=listing.job_key(recording)).state == Job.State.QUEUED


def test_a_ready_recording_is_not_made_again(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast)
    job = job_of(recording, state=Job.State.DONE)

    as_coach.post(url("again", recording))

    job.refresh_from_db()
    assert job.state == Job.State.DONE


def test_throwing_away(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast)
    clip = filmed.clip(cast, recording, cast.swimmer)

    page = as_coach.post(url("throw_away", recording), follow=True)

    recording.refresh_from_db()
    clip.refresh_from_db()
    assert recording.thrown_away_at
    assert clip.removed_at
    assert page.context["takes"] == []
    assert Entry.objects.filter(action="removed", thing_code=recording.code).count() == 1


def test_what_a_family_sees_is_not_thrown_away(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast)
    clip = filmed.clip(cast, recording, cast.swimmer)
    Showing.objects.create(clip=clip, swimmer=cast.swimmer, since=NOW)

    page = as_coach.post(url("throw_away", recording), follow=True)

    recording.refresh_from_db()
    assert recording.thrown_away_at is None
    assert "Take that review back first." in page.content.decode()


VIEWS = ["session", "state", "again", "throw_away"]
WRITES = ["again", "throw_away"]


def ask(client: Client, cast: Cast, view: str):
    thing = cast.session if view == "session" else filmed.ready(cast)
    return (client.post if view in WRITES else client.get)(url(view, thing))


@pytest.mark.parametrize("view", VIEWS)
def test_an_assistant_may(cast: Cast, view: str):
    assert ask(signed_in(cast.assistant), cast, view).status_code in (200, 302)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "stranger", "guardian", "swimmer_user", "welfare"]
)
def test_others_find_nothing(cast: Cast, view: str, name: str):
    assert ask(signed_in(cast.person(name)), cast, view).status_code == 404


@pytest.mark.parametrize("view", VIEWS)
def test_who_is_not_signed_in_is_sent_to_sign_in(cast: Cast, view: str):
    answer = ask(Client(), cast, view)

    assert answer.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("view", WRITES)
def test_a_link_changes_nothing(cast: Cast, as_coach: Client, view: str):
    assert as_coach.get(url(view, filmed.ready(cast))).status_code == 405
