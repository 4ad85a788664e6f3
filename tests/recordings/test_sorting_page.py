"""The sorting table: what it offers, cutting, removing."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertInHTML

from portal.jobs.models import Job
from portal.people.models import Consent
from portal.recordings import copying
from portal.recordings.models import Clip, Recording
from portal.recordings.sorting import table
from tests.cast import DAY, NOW, Cast, make_swimmer, signed_in
from tests.recordings import filmed

HTMX = {"HX-Request": "true"}
VIEW = '<input type="radio" name="view" value="side-underwater" required checked id="id_view_0">'


def url(name: str, thing) -> str:
    return reverse(f"recordings:{name}", args=[thing.code])


@pytest.fixture
def recording(cast: Cast) -> Recording:
    return filmed.ready(cast, name="lane 4.mp4")


def typed(cast: Cast, **changes: object) -> dict[str, object]:
    return {
        "first_frame": 30,
        "last_frame": 120,
        "swimmers": [str(cast.swimmer.code)],
        "stroke": "breast",
        "view": "side-underwater",
        "effort": "race",
        "equipment": "fins",
        **changes,
    }


def test_it_works(cast: Cast, as_coach: Client, recording: Recording):
    page = as_coach.get(url("sorting", recording))

    copy = recording.renditions.get()
    words = page.content.decode()
    assert page.status_code == 200
    assert "lane 4.mp4. One take of 0:10, 30 frames a second" in words
    assert f'data-film="{url("film", copy)}"' in words
    assert f'data-times="{url("times", copy)}"' in words
    assert 'data-last="299"' in words
    assert 'data-tile="160 90"' in words


def test_what_is_not_ready_is_not_sorted(cast: Cast, as_coach: Client):
    answer = as_coach.get(url("sorting", filmed.recording(cast)))

    assert answer.headers["Location"] == url("session", cast.session)


def test_who_may_not_be_filmed_is_named_and_not_offered(cast: Cast, as_coach: Client, recording):
    Consent.objects.filter(swimmer=cast.mate, purpose=Consent.Purpose.FILM).delete()

    words = as_coach.get(url("sorting", recording)).content.decode()

    assert "Noor Haan has no consent to film." in words
    assert str(cast.mate.code) not in words


def test_a_cut(cast: Cast, as_coach: Client, recording: Recording):
    part = as_coach.post(url("cut", recording), typed(cast), headers=HTMX)

    clip = Clip.objects.get()
    assert (clip.first_frame, clip.last_frame) == (30, 120)
    assert (clip.stroke, clip.view, clip.effort) == ("breast", "side-underwater", "race")
    assert clip.equipment == "fins"
    assert (list(clip.swimmers.all()), clip.cut_by) == ([cast.swimmer], cast.coach)
    job = Job.objects.get(key=f"clip:{clip.code}")
    assert (job.kind, job.payload) == ("recordings.prepare_clip", {"clip": str(clip.code)})
    words = part.content.decode()
    assert 'data-said="Kept: Ines Falk."' in words
    assert "0:01.00 – 0:04.00" in words
    assert "breaststroke, race pace, fins" in words
    assert reverse("review:bench", args=[clip.code]) in words
    assert "<video" not in words


def test_equipment_is_told_wherever_the_clip_is(cast: Cast, as_coach: Client, recording):
    as_coach.post(url("cut", recording), typed(cast))
    bench = reverse("review:bench", args=[Clip.objects.get().code])

    assert "breaststroke, race pace, fins" in as_coach.get(url("session", cast.session)).text
    assert "side, under water · race pace · fins" in as_coach.get(bench).text


def test_a_cut_without_scripts(cast: Cast, as_coach: Client, recording: Recording):
    page = as_coach.post(url("cut", recording), typed(cast), follow=True)

    assert "Kept: Ines Falk." in page.content.decode()


def test_the_next_stretch_goes_on_from_the_last(cast: Cast, as_coach: Client, recording):
    as_coach.post(url("cut", recording), typed(cast))

    form = as_coach.get(url("sorting", recording)).context["form"]

    assert form.initial == {
        "first_frame": 121,
        "swimmers": [cast.mate.code],
        "stroke": "breast",
        "view": "side-underwater",
        "effort": "race",
        "equipment": "fins",
    }


def test_swimmers_have_the_numbers_of_the_film_list(cast: Cast, as_coach: Client, recording):
    cast.session.film_order = [cast.mate.id, cast.swimmer.id]
    cast.session.save(update_fields=["film_order"])

    form = as_coach.get(url("sorting", recording)).context["form"]

    assert [str(choice.choice_label) for choice in form["swimmers"]] == ["Noor Haan", "Ines Falk"]


def offered(recording: Recording) -> str:
    laid = table(recording)
    swimmer = laid.next_swimmer() if laid else None
    return swimmer.first_name if swimmer else ""


def test_the_next_swimmer_is_down_the_list_and_round(cast: Cast, recording: Recording):
    third = make_swimmer(cast.club, cast.squad, "Petra Vanter", born=DAY)
    Consent.objects.create(
        swimmer=third,
        purpose=Consent.Purpose.FILM,
        is_given=True,
        answered_by=cast.guardian,
        at=NOW,
    )
    assert offered(recording) == "Ines"
    filmed.clip(cast, recording, cast.mate)
    assert offered(recording) == "Petra"
    filmed.clip(cast, recording, third, first=100, last=120)
    assert offered(recording) == "Ines"
    filmed.clip(cast, recording, cast.swimmer, first=130, last=140)
    assert offered(recording) == ""


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"last_frame": 30}, "The end (frame 30) is not after the beginning (frame 30)."),
        ({"last_frame": 300}, "It has frames 0 to 299."),
        ({"last_frame": ""}, "Mark a frame."),
        ({"swimmers": []}, "Say who swims here."),
        ({"stroke": ""}, "Choose one."),
        ({"effort": "splash"}, "splash is not one of the available choices."),
        ({"equipment": ""}, "Choose one."),
    ],
)
def test_a_cut_that_cannot_be_loses_nothing(cast: Cast, as_coach, recording, changes, said: str):
    part = as_coach.post(url("cut", recording), typed(cast, **changes), headers=HTMX)

    words = part.content.decode()
    assert part.status_code == 422
    assert said in words
    assert 'value="30"' in words
    assertInHTML(VIEW, words)
    assert not Clip.objects.exists()


def test_swimmers_of_others_are_not_cut(cast: Cast, as_coach: Client, recording: Recording):
    outsider = make_swimmer(cast.club, cast.other_squad, "Otis Farrow", born=DAY)

    part = as_coach.post(url("cut", recording), typed(cast, swimmers=[outsider.code]))

    assert part.status_code == 422
    assert not Clip.objects.exists()


def test_nothing_is_cut_from_what_is_not_ready(cast: Cast, as_coach: Client):
    assert as_coach.post(url("cut", filmed.recording(cast)), typed(cast)).status_code == 404


def test_removing_asks_first(cast: Cast, as_coach: Client, recording: Recording):
    clip = filmed.clip(cast, recording, cast.swimmer)

    page = as_coach.get(url("sorting", recording)).content.decode()

    kept = page[page.index('id="kept"') :]
    _change, asked = re.findall(r"<details.*?</details>", kept, flags=re.S)
    assert "What was said on it goes from the bench too." in asked
    assert page.count(f'action="{url("remove_clip", clip)}"') == 1
    assert f'action="{url("remove_clip", clip)}"' in asked


def test_removing(cast: Cast, as_coach: Client, recording: Recording):
    clip = filmed.clip(cast, recording, cast.swimmer)

    part = as_coach.post(url("remove_clip", clip), headers=HTMX)

    clip.refresh_from_db()
    assert clip.removed_at
    assert 'data-said="The clip is removed."' in part.content.decode()
    assert as_coach.post(url("remove_clip", clip)).status_code == 404


def test_the_table_takes_no_more_queries_as_it_grows(cast: Cast, as_coach: Client, recording):
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            as_coach.get(url("sorting", recording))
        return len(caught)

    filmed.clip(cast, recording, cast.swimmer)
    few = queries()
    for number in range(20):
        filmed.clip(cast, recording, cast.swimmer, cast.mate, first=number, last=number + 5)

    assert queries() == few


VIEWS = ["sorting", "cut", "remove_clip"]


def ask(client: Client, cast: Cast, view: str):
    recording = filmed.ready(cast)
    if view == "remove_clip":
        return client.post(url(view, filmed.clip(cast, recording, cast.swimmer)))
    if view == "cut":
        return client.post(url(view, recording), typed(cast))
    return client.get(url(view, recording))


@pytest.mark.parametrize("view", VIEWS)
def test_an_assistant_may(cast: Cast, view: str):
    assert ask(signed_in(cast.assistant), cast, view).status_code in (200, 302)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "stranger", "guardian", "swimmer_user", "volunteer"]
)
def test_others_find_nothing(cast: Cast, view: str, name: str):
    assert ask(signed_in(cast.person(name)), cast, view).status_code == 404
    assert not Clip.objects.exclude(removed_at=None).exists()


@pytest.mark.parametrize("view", VIEWS)
def test_who_is_not_signed_in_is_sent_to_sign_in(cast: Cast, view: str):
    assert ask(Client(), cast, view).headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("view", ["cut", "remove_clip"])
def test_a_link_changes_nothing(cast: Cast, as_coach: Client, view: str, recording: Recording):
    thing = filmed.clip(cast, recording, cast.swimmer) if view == "remove_clip" else recording

    assert as_coach.get(url(view, thing)).status_code == 405


def test_a_family_that_sees_a_clip_cannot_remove_it(cast: Cast, recording: Recording):
    clip = filmed.clip(cast, recording, cast.swimmer)
    clip.showings.create(swimmer=cast.swimmer, since=NOW)

    assert signed_in(cast.guardian).post(url("remove_clip", clip)).status_code == 403


def test_a_family_film_that_failed_says_why_and_is_tried_again(
    cast: Cast, as_coach: Client, recording: Recording
):
    clip = filmed.clip(cast, recording, cast.swimmer)
    copying.ask(clip, at=NOW)
    Job.objects.update(state=Job.State.FAILED, problem="There was no room.", attempts=3)
    page = as_coach.get(url("sorting", recording)).content.decode()
    assert "The film for the family could not be made. There was no room." in page
    assert url("copy_again", clip) in page

    as_coach.post(url("copy_again", clip))

    job = Job.objects.get()
    assert (job.state, job.attempts) == (Job.State.QUEUED, 0)
    assert url("copy_again", clip) not in as_coach.get(url("sorting", recording)).content.decode()


def test_a_film_on_its_way_is_not_begun_anew(cast: Cast, as_coach: Client, recording: Recording):
    clip = filmed.clip(cast, recording, cast.swimmer)
    copying.ask(clip, at=NOW)
    Job.objects.update(state=Job.State.RUNNING, attempts=1)

    as_coach.post(url("copy_again", clip))

    assert Job.objects.get().state == Job.State.RUNNING
