from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from portal.audit.models import Entry
from portal.people.models import Consent, SquadPlace, Swimmer
from portal.recordings import cutting, showing, throwing
from portal.recordings.models import Clip, Recording
from tests.cast import DAY, NOW, Cast, consent_to_all, make_swimmer
from tests.recordings import filmed


@pytest.fixture
def recording(cast: Cast) -> Recording:
    return filmed.ready(cast)


def keep(cast: Cast, recording: Recording, **changed: Any) -> Clip:
    marks: dict[str, Any] = {
        "first_frame": 30,
        "last_frame": 120,
        "swimmers": [cast.swimmer],
        "stroke": "breast",
        "view": "side-underwater",
        "effort": "race",
    }
    return cutting.cut(recording, **(marks | changed), by=cast.assistant, at=NOW)


def refusal(cast: Cast, recording: Recording, **changed: Any) -> str:
    with pytest.raises(cutting.Refused) as refused:
        keep(cast, recording, **changed)
    assert not Clip.objects.exists()
    return str(refused.value)


def test_it_works(cast: Cast, recording: Recording):
    clip = keep(cast, recording)

    assert (clip.first_frame, clip.last_frame, clip.frame_count) == (30, 120, 91)
    assert (clip.stroke, clip.view, clip.effort) == ("breast", "side-underwater", "race")
    assert list(clip.swimmers.all()) == [cast.swimmer]
    assert (clip.cut_by, clip.cut_at) == (cast.assistant, NOW)
    [entry] = Entry.objects.all()
    assert (entry.action, entry.thing, entry.thing_code) == ("made", "clip", clip.code)


def test_a_group_swims(cast: Cast, recording: Recording):
    clip = keep(cast, recording, swimmers=[cast.swimmer, cast.mate])

    assert set(clip.swimmers.all()) == {cast.swimmer, cast.mate}


@pytest.mark.parametrize(("first", "last"), [(0, 299), (0, 1), (298, 299)])
def test_up_to_the_edges(cast: Cast, recording: Recording, first: int, last: int):
    assert keep(cast, recording, first_frame=first, last_frame=last).last_frame == last


def test_clips_may_overlap(cast: Cast, recording: Recording):
    keep(cast, recording)
    keep(cast, recording, first_frame=100, swimmers=[cast.mate])

    assert recording.clips.count() == 2


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (30, 30, "not after the beginning"),
        (31, 30, "not after the beginning"),
        (-1, 30, "frames 0 to 299"),
        (30, 300, "frames 0 to 299"),
    ],
)
def test_a_stretch_that_is_none(cast: Cast, recording: Recording, first: int, last: int, said: str):
    assert said in refusal(cast, recording, first_frame=first, last_frame=last)


@pytest.mark.parametrize("mark", ["stroke", "view", "effort", "equipment"])
def test_a_word_that_is_not_offered(cast: Cast, recording: Recording, mark: str):
    assert f"“paddling” is no {mark}" in refusal(cast, recording, **{mark: "paddling"})


def test_nobody_swims(cast: Cast, recording: Recording):
    assert "Say who swims" in refusal(cast, recording, swimmers=[])


def test_somebody_of_another_squad(cast: Cast, recording: Recording):
    older = make_swimmer(cast.club, cast.other_squad, "Jo Ahmed", born=date(2009, 1, 1))
    consent_to_all(older, cast.guardian)

    said = refusal(cast, recording, swimmers=[cast.swimmer, older])

    assert said == "Jo Ahmed was not in this squad on the day of the session."


@pytest.mark.parametrize("last_day", [DAY, date(2026, 1, 1)])
def test_somebody_who_had_left_the_squad(cast: Cast, recording: Recording, last_day: date):
    SquadPlace.objects.filter(swimmer=cast.swimmer).update(ends=last_day)

    assert "not in this squad" in refusal(cast, recording)


def test_somebody_who_left_the_squad_later(cast: Cast, recording: Recording):
    SquadPlace.objects.filter(swimmer=cast.swimmer).update(ends=date(2026, 11, 20))

    assert keep(cast, recording).pk


def test_without_consent_to_film(cast: Cast, recording: Recording):
    new = make_swimmer(cast.club, cast.squad, "Lou Prix", born=date(2013, 2, 2))

    assert "Lou Prix may not be filmed" in refusal(cast, recording, swimmers=[new])


def test_one_guardian_of_two_said_no(cast: Cast, recording: Recording):
    Consent.objects.create(
        swimmer=cast.swimmer,
        purpose=Consent.Purpose.FILM,
        is_given=False,
        answered_by=cast.co_guardian,
        at=NOW,
    )

    said = refusal(cast, recording, swimmers=[cast.swimmer, cast.mate])

    assert "Ines Falk may not be filmed" in said
    assert "Korda" not in said


def test_a_recording_that_is_not_ready(cast: Cast):
    assert "not ready" in refusal(cast, filmed.recording(cast))


def test_a_recording_that_was_thrown_away(cast: Cast):
    assert "not ready" in refusal(cast, filmed.ready(cast, thrown_away_at=NOW))


def test_a_recording_that_is_thrown_away_meanwhile(cast: Cast, recording: Recording):
    throwing.throw_away(Recording.objects.get(), by=cast.coach, at=NOW)

    assert "not ready" in refusal(cast, recording)


def test_the_choice_may_come_from_a_form(cast: Cast, recording: Recording):
    chosen = Swimmer.objects.filter(pk=cast.swimmer.pk)

    assert keep(cast, recording, swimmers=chosen).swimmers.get() == cast.swimmer


def test_removing(cast: Cast, recording: Recording):
    clip = keep(cast, recording)
    showing.show([clip], to=cast.swimmer, at=NOW)

    cutting.remove(clip, by=cast.coach, at=NOW)
    cutting.remove(clip, by=cast.coach, at=NOW)

    clip.refresh_from_db()
    assert clip.removed_at == NOW
    assert not clip.showings.exists()
    assert Entry.objects.filter(action="removed", thing_code=clip.code).count() == 1
