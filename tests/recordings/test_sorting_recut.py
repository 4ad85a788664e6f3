"""Splitting, moving and joining kept clips, passing over guesses, and taking all of it back."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs.models import Job
from portal.people.models import Consent
from portal.recordings import cutting, passing, recutting
from portal.recordings.models import Clip, Recording
from portal.recordings.sorting import table
from tests.cast import NOW, Cast, signed_in
from tests.recordings import filmed

HTMX = {"HX-Request": "true"}
GUESSES = [
    {"first": 30, "last": 89, "sure": 0.91},
    {"first": 120, "last": 179, "sure": 0.8},
    {"first": 210, "last": 290, "sure": 0.71},
]


def url(name: str, thing) -> str:
    return reverse(f"recordings:{name}", args=[thing.code])


@pytest.fixture
def recording(cast: Cast) -> Recording:
    return filmed.ready(cast, strip=filmed.STRIP | {"guesses": GUESSES})


@pytest.fixture
def clip(cast: Cast, recording: Recording) -> Clip:
    one: Clip = filmed.clip(cast, recording, cast.swimmer, first=30, last=89)
    Clip.objects.update(equipment="paddles")
    one.refresh_from_db()
    return one


def kept(recording: Recording) -> list[tuple[int, int]]:
    rows = recording.clips.kept().order_by("first_frame")
    return list(rows.values_list("first_frame", "last_frame"))


def recut(client: Client, clip: Clip, act: str, frame: int = 60):
    return client.post(url("recut", clip), {"act": act, "frame": frame}, headers=HTMX)


def undo(client: Client, recording: Recording, answer):
    asked = answer.context["undo"]
    fields = {"made": asked.made, "removed": asked.removed}
    if asked.passed_over is not None:
        fields["passed_over"] = asked.passed_over
    return client.post(url("take_back", recording), fields, headers=HTMX)


@pytest.mark.parametrize(
    ("act", "frame", "marks"),
    [
        ("split", 60, [(30, 59), (60, 89)]),
        ("begin", 20, [(20, 89)]),
        ("end", 100, [(30, 100)]),
    ],
)
def test_it_works(cast: Cast, as_coach: Client, recording, clip: Clip, act, frame, marks):
    answer = recut(as_coach, clip, act, frame)

    assert kept(recording) == marks
    for made in recording.clips.kept():
        assert list(made.swimmers.all()) == [cast.swimmer]
        assert (made.stroke, made.view, made.effort) == (clip.stroke, clip.view, clip.effort)
        assert made.equipment == "paddles"
        assert Job.objects.filter(key=f"clip:{made.code}").exists()
    assert 'data-said="The clip is cut anew."' in answer.content.decode()
    undo(as_coach, recording, answer)
    assert kept(recording) == [(30, 89)]
    assert Clip.objects.kept().get() == clip


def test_joining_names_both(cast: Cast, as_coach: Client, recording: Recording, clip: Clip):
    filmed.clip(cast, recording, cast.mate, first=100, last=140)

    answer = recut(as_coach, clip, "join")

    assert kept(recording) == [(30, 140)]
    assert set(recording.clips.kept().get().swimmers.all()) == {cast.swimmer, cast.mate}
    undo(as_coach, recording, answer)
    assert kept(recording) == [(30, 89), (100, 140)]


@pytest.mark.parametrize(
    ("act", "frame", "said"),
    [
        ("join", 0, "No clip begins after this one"),
        ("begin", 89, "is not after the beginning"),
        ("end", 300, "are not all in this recording"),
        ("split", 200, "is not after the beginning"),
        ("split", 30, "is not after the beginning"),
        ("burn", 40, "Say at which frame."),
    ],
)
def test_what_cannot_be_changes_nothing(as_coach: Client, recording, clip: Clip, act, frame, said):
    answer = recut(as_coach, clip, act, frame)

    assert said in answer.content.decode()
    assert kept(recording) == [(30, 89)]


def test_a_clip_that_was_shown_stays(cast: Cast, as_coach: Client, recording, clip: Clip):
    clip.showings.create(swimmer=cast.swimmer, since=NOW)

    answer = recut(as_coach, clip, "split")

    assert "Something was said about this clip already" in answer.content.decode()
    assert kept(recording) == [(30, 89)]


def test_a_hidden_clip_stays(cast: Cast, as_coach: Client, recording: Recording, clip: Clip):
    Clip.objects.update(hidden_at=NOW, hidden_by=cast.guardian)

    recut(as_coach, clip, "end", 100)

    assert kept(recording) == [(30, 89)]


def test_a_held_film_stays_as_it_is(as_coach: Client, recording: Recording, clip: Clip):
    Recording.objects.update(held_at=NOW)

    recut(as_coach, clip, "end", 100)

    assert kept(recording) == [(30, 89)]


def test_who_comes_second_is_told(cast: Cast, recording: Recording, clip: Clip):
    recutting.split(clip, at_frame=60, by=cast.coach, at=NOW)

    with pytest.raises(cutting.Refused, match="Somebody else has just changed this clip"):
        recutting.move(clip, first_frame=0, last_frame=89, by=cast.assistant, at=NOW)

    assert kept(recording) == [(30, 59), (60, 89)]


def test_a_cut_and_a_removal_are_taken_back(cast: Cast, as_coach: Client, recording, clip: Clip):
    answer = as_coach.post(url("remove_clip", clip), headers=HTMX)
    assert kept(recording) == []
    answer = undo(as_coach, recording, answer)
    assert kept(recording) == [(30, 89)]
    assert Job.objects.filter(key=f"clip:{clip.code}").exists()
    undo(as_coach, recording, answer)
    assert kept(recording) == []
    done = Entry.objects.filter(thing_code=clip.code).order_by("id")
    assert [entry.action for entry in done] == ["removed", "made", "removed"]


def test_a_copy_that_nobody_made_meanwhile_is_asked_for_anew(
    as_coach: Client, recording: Recording, clip: Clip
):
    answer = as_coach.post(url("remove_clip", clip), headers=HTMX)
    undo(as_coach, recording, answer)
    Job.objects.update(state=Job.State.DONE)

    undo(as_coach, recording, as_coach.post(url("remove_clip", clip), headers=HTMX))

    assert Job.objects.get(key=f"clip:{clip.code}").state == Job.State.QUEUED


def test_who_may_no_longer_be_filmed_does_not_come_back(
    cast: Cast, as_coach: Client, recording: Recording, clip: Clip
):
    answer = as_coach.post(url("remove_clip", clip), headers=HTMX)
    Consent.objects.filter(swimmer=cast.swimmer, purpose=Consent.Purpose.FILM).delete()

    undo(as_coach, recording, answer)

    assert kept(recording) == []


def test_clips_of_another_recording_are_not_taken_back(
    cast: Cast, as_coach: Client, recording: Recording, clip: Clip
):
    other = filmed.ready(cast)

    as_coach.post(url("take_back", other), {"made": [clip.code]}, headers=HTMX)

    assert kept(recording) == [(30, 89)]


def offered(recording: Recording) -> list[int]:
    recording.refresh_from_db()
    laid = table(recording)
    assert laid
    return [guess.first for guess in laid.proposals]


def test_guesses_are_offered_until_they_are_cut(cast: Cast, as_coach: Client, recording):
    page = as_coach.get(url("sorting", recording))
    assert page.context["form"].initial["first_frame"] == 30
    assert page.context["form"].initial["last_frame"] == 89
    words = page.content.decode()
    assert [word in words for word in ("clear", "likely", "faint")] == [True] * 3
    filmed.clip(cast, recording, cast.swimmer, first=125, last=170)

    page = as_coach.get(url("sorting", recording))

    assert offered(recording) == [30, 210]
    assert page.context["form"].initial["first_frame"] == 210


def test_a_guess_of_which_less_than_half_is_cut_stays(cast: Cast, recording: Recording):
    filmed.clip(cast, recording, cast.swimmer, first=0, last=40)

    assert offered(recording) == [30, 120, 210]


def named(recording: Recording) -> list[str]:
    recording.refresh_from_db()
    laid = table(recording)
    assert laid
    return [guess.swimmer.first_name if guess.swimmer else "" for guess in laid.guesses()]


def test_guesses_are_named_in_the_order_of_the_film_list(cast: Cast, recording: Recording):
    assert named(recording) == ["", "", ""]
    cast.session.film_order = [cast.mate.id, cast.swimmer.id]
    cast.session.save(update_fields=["film_order"])
    assert named(recording) == ["Noor", "Ines", ""]

    filmed.clip(cast, recording, cast.mate, first=30, last=89)

    assert named(recording) == ["Ines", ""]


def test_nothing_to_see(as_coach: Client, recording: Recording):
    answer = as_coach.post(url("pass_over", recording), {"first_frame": 120}, headers=HTMX)
    assert offered(recording) == [30, 210]
    undo(as_coach, recording, answer)
    assert offered(recording) == [30, 120, 210]
    as_coach.post(url("pass_over", recording), {"first_frame": 5})
    as_coach.post(url("pass_over", recording), {})
    assert offered(recording) == [30, 120, 210]


def test_several_at_one_table_lose_nothing(cast: Cast, as_coach: Client, recording: Recording):
    """Each posts from a page that is older than what the other has done."""
    mate = signed_in(cast.assistant)
    for page in (as_coach, mate):
        page.get(url("sorting", recording))
    mine = {
        "first_frame": 30,
        "last_frame": 89,
        "swimmers": [str(cast.swimmer.code)],
        "stroke": "breast",
        "view": "side-underwater",
        "effort": "race",
        "equipment": "none",
    }
    theirs = mine | {"first_frame": 120, "last_frame": 179, "swimmers": [str(cast.mate.code)]}

    as_coach.post(url("cut", recording), mine, headers=HTMX)
    mate.post(url("pass_over", recording), {"first_frame": 210}, headers=HTMX)
    seen = mate.post(url("cut", recording), theirs, headers=HTMX).content.decode()
    as_coach.post(url("cut", recording), theirs | {"first_frame": 110}, headers=HTMX)

    assert kept(recording) == [(30, 89), (110, 179), (120, 179)]
    assert offered(recording) == []
    assert 'data-first="30"' in seen
    assert {clip.cut_by for clip in recording.clips.kept()} == {cast.coach, cast.assistant}


HANDS, EACH = 4, 5


def at_once(work: Callable[[int], object]) -> list[object]:
    def alone(hand: int) -> object:
        try:
            return work(hand)
        finally:
            connection.close()

    with ThreadPoolExecutor(HANDS) as pool:
        return list(pool.map(alone, range(HANDS)))


@pytest.mark.usefixtures("transactional_db")
def test_at_the_same_moment_nothing_is_lost(cast: Cast):
    """Four people at one recording, each with stretches and guesses of their own."""
    starts = range(0, 14 * HANDS * EACH, 14)
    guesses = [{"first": first, "last": first + 9, "sure": 0.9} for first in starts]
    recording = filmed.ready(cast, strip=filmed.STRIP | {"guesses": guesses})

    def work(hand: int) -> None:
        for first in starts[hand::HANDS]:
            cutting.cut(
                recording,
                first_frame=first,
                last_frame=first + 9,
                swimmers=[cast.swimmer],
                stroke="breast",
                view="side-underwater",
                effort="race",
                by=cast.coach,
                at=NOW,
            )
            passing.pass_over(Recording.objects.get(pk=recording.pk), first_frame=first)

    at_once(work)

    assert kept(recording) == [(first, first + 9) for first in starts]
    recording.refresh_from_db()
    assert all(guess["is_passed_over"] for guess in recording.strip["guesses"])


@pytest.mark.usefixtures("transactional_db")
def test_one_of_all_who_change_a_clip_at_the_same_moment_does(cast: Cast, recording, clip: Clip):
    def work(hand: int) -> bool:
        mine = Clip.objects.get(pk=clip.pk)
        try:
            recutting.move(mine, first_frame=hand, last_frame=80, by=cast.coach, at=NOW)
        except cutting.Refused:
            return False
        return True

    assert sorted(map(bool, at_once(work))) == [False] * (HANDS - 1) + [True]
    assert len(kept(recording)) == 1


def anew(cast: Cast, clip: Clip, **changes: object) -> dict[str, object]:
    return {
        "first_frame": 30,
        "last_frame": 80,
        "swimmers": [str(cast.mate.code)],
        "stroke": "free",
        "view": "side-underwater",
        "effort": "easy",
        "equipment": "fins",
        "instead_of": str(clip.code),
        **changes,
    }


def test_another_swimmer_is_named(cast: Cast, as_coach: Client, recording, clip: Clip):
    page = as_coach.get(url("sorting", recording), {"again": str(clip.code)}, headers=HTMX)
    assert page.context["form"].initial["swimmers"] == [cast.swimmer.code]
    assert f'name="instead_of" value="{clip.code}"' in page.content.decode()

    answer = as_coach.post(url("cut", recording), anew(cast, clip), headers=HTMX)

    assert kept(recording) == [(30, 80)]
    made = recording.clips.kept().get()
    assert list(made.swimmers.all()) == [cast.mate]
    assert (made.stroke, made.equipment) == ("free", "fins")
    undo(as_coach, recording, answer)
    assert recording.clips.kept().get() == clip


def test_a_clip_that_is_gone_is_not_cut_anew(cast: Cast, as_coach: Client, recording, clip: Clip):
    cutting.remove(clip, by=cast.assistant, at=NOW)

    answer = as_coach.post(url("cut", recording), anew(cast, clip), headers=HTMX)

    assert answer.status_code == 422
    assert "Somebody else has just changed this clip." in answer.content.decode()
    assert kept(recording) == []
    assert as_coach.get(url("sorting", recording), {"again": "x"}).status_code == 200


def test_a_clip_of_which_something_was_said_is_not_cut_anew(
    cast: Cast, as_coach: Client, recording, clip: Clip
):
    clip.showings.create(swimmer=cast.swimmer, since=NOW)

    answer = as_coach.post(url("cut", recording), anew(cast, clip), headers=HTMX)

    assert "Something was said about this clip already" in answer.content.decode()
    assert kept(recording) == [(30, 89)]
