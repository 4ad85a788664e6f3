"""Originals go when the club's days are over, and nothing goes that somebody still looks at."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.audit.models import Entry
from portal.jobs import planning, running
from portal.jobs.models import Job
from portal.kit.storage import path_of, poster_name, strip_name
from portal.recordings import copying, dropping, holding, throwing
from portal.recordings.models import Recording
from tests.cast import NOW, Cast
from tests.media import film
from tests.recordings import filmed
from tests.recordings.films import everything_kept, make_ready, numbers, stored_times

OVER = NOW + timedelta(days=90)


def put(name: str) -> None:
    path = path_of(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"film")


def take(cast: Cast, **fields) -> Recording:
    """With all its files."""
    recording = filmed.ready(cast, **fields)
    put(str(recording.original))
    put(strip_name(recording.code))
    put(poster_name(recording.code))
    put(str(recording.renditions.get().file))
    return recording


def has_original(recording: Recording) -> bool:
    recording.refresh_from_db()
    return bool(recording.original) and path_of(str(recording.original)).exists()


def test_it_works(cast: Cast):
    one = take(cast)
    clip = filmed.clip(cast, one, cast.swimmer)
    put(str(filmed.copy(one, clip).file))

    assert dropping.drop_due(at=OVER - timedelta(seconds=1)) == 0
    assert has_original(one)
    original = Path(one.original.path)
    assert dropping.drop_due(at=OVER) == 1
    assert dropping.drop_due(at=OVER) == 0

    one.refresh_from_db()
    assert (one.original.name, one.original_went_at, one.size) == ("", OVER, 1000)
    assert not original.exists()
    assert len(everything_kept()) == 4, "both copies and both pictures"
    entry = Entry.objects.get(action="removed")
    assert (entry.thing_code, entry.actor_code, entry.detail) == (
        one.code,
        None,
        {"what": "original"},
    )


@pytest.mark.parametrize("days", [7, 120])
def test_each_club_has_its_own_days(cast: Cast, days: int):
    cast.club.raw_days, cast.club.raw_days_reason = days, "film study"
    cast.club.save()
    one = take(cast)

    dropping.drop_due(at=NOW + timedelta(days=days - 1))
    assert has_original(one)
    dropping.drop_due(at=NOW + timedelta(days=days))
    assert not has_original(one)


def test_it_stays_until_every_kept_clip_has_its_copy(cast: Cast):
    one = take(cast)
    first, second = (
        filmed.clip(cast, one, cast.swimmer, first=at, last=at + 50) for at in (0, 100)
    )
    filmed.copy(one, first)
    dropping.drop_due(at=OVER)
    assert has_original(one)

    second.removed_at = NOW
    second.save()
    dropping.drop_due(at=OVER)
    assert not has_original(one)


def test_what_is_held_stays_whole(cast: Cast):
    one, other = take(cast), take(cast)
    holding.hold(one, by=cast.welfare, at=NOW)
    throwing.throw_away(other, by=cast.coach, at=NOW)
    Recording.objects.filter(pk=other.pk).update(held_at=NOW)

    assert dropping.drop_due(at=OVER + timedelta(days=900)) == 0
    assert has_original(one)
    assert has_original(other)
    holding.let_go(one, by=cast.welfare, at=NOW)
    dropping.drop_due(at=OVER)
    assert not has_original(one)


def test_what_waits_to_be_made_ready_stays(cast: Cast):
    one = filmed.recording(cast)
    put(str(one.original))

    dropping.drop_due(at=OVER)
    assert has_original(one)


def test_what_cannot_be_used_goes(cast: Cast):
    one = filmed.recording(cast, state=Recording.State.FAILED)
    put(str(one.original))

    dropping.drop_due(at=OVER)
    assert everything_kept() == []


def test_of_what_was_thrown_away_nothing_is_left(cast: Cast):
    one = take(cast)
    throwing.throw_away(one, by=cast.coach, at=OVER)

    dropping.drop_due(at=OVER + timedelta(days=6))
    assert has_original(one), "who threw it away may regret it"
    dropping.drop_due(at=OVER + timedelta(days=7))

    assert everything_kept() == []
    assert not one.renditions.exists()


def test_the_page_says_so_before_and_after(cast: Cast, as_coach: Client):
    soon, gone, young = take(cast), take(cast, name="gone.mp4"), take(cast)
    now = timezone.now()
    ages = {soon: 80, gone: 90, young: 1}
    for recording, days in ages.items():
        Recording.objects.filter(pk=recording.pk).update(uploaded_at=now - timedelta(days=days))
    dropping.drop_due(at=now)

    page = as_coach.get(reverse("recordings:session", args=[cast.session.code])).content.decode()

    assert page.count("Originals are kept for 90 days.") == 1
    goes = cast.club.day(now + timedelta(days=10))
    assert page.count(f"The original goes on {goes.day} {goes:%b %Y}.") == 1
    today = cast.club.day(now)
    assert page.count(f"The original went on {today.day} {today:%b %Y}.") == 1


def test_a_clip_cut_afterwards_is_made_of_the_light_copy(cast: Cast, tmp_path: Path):
    """Frame by frame the same film: all in it spell their numbers, and stand where they stood."""
    one = make_ready(cast, film(tmp_path / "take.mp4", frames=40, rate=24))
    dropping.drop_due(at=OVER)
    clip = filmed.clip(cast, one, cast.swimmer, first=11, last=30)

    job = copying.ask(clip, at=OVER)
    assert running.run_one(job.code, worker="test", at=OVER)

    copy, light = clip.renditions.get(), one.renditions.get(clip=None)
    assert numbers(Path(copy.file.path)) == list(range(11, 31))
    kept = stored_times(light)
    moved = [time - kept[11] for time in kept[11:31]]
    assert stored_times(copy) == pytest.approx([float(time) for time in moved], abs=0.001)


def test_it_comes_round_by_itself(cast: Cast):
    one, at = take(cast), timezone.now()
    Recording.objects.update(uploaded_at=at - timedelta(days=91))

    planning.plan_due(at=at)
    assert running.run_one(Job.objects.get(kind="recordings.drop").code, worker="test", at=at)

    assert not has_original(one)
