"""Files that no row names go in the end, and copies whose files are gone are made anew."""

from __future__ import annotations

import os
from datetime import timedelta

import pytest
from django.utils import timezone

from portal.jobs.models import Job
from portal.kit import storage
from portal.kit.storage import path_of
from portal.recordings import copying, receiving, sweeping
from portal.recordings.models import Recording
from tests.cast import NOW, Cast
from tests.recordings import filmed
from tests.recordings.films import everything_kept
from tests.recordings.test_dropping import put, take

FOLDERS = ["originals", "copies", "strips", "posters"]


def grow_old(name: str, days: float) -> None:
    then = (timezone.now() - timedelta(days=days)).timestamp()
    os.utime(path_of(name), (then, then))


def test_it_works(cast: Cast):
    take(cast)
    before = everything_kept()
    for folder in FOLDERS:
        for name, days in (("young", 29), ("old", 31)):
            put(f"{folder}/{name}.x")
            grow_old(f"{folder}/{name}.x", days)
    for name in before:
        grow_old(name, 900)

    sweeping.sweep(at=timezone.now())

    assert everything_kept() == sorted([*before, *(f"{folder}/young.x" for folder in FOLDERS)])


@pytest.mark.parametrize("is_clip", [False, True])
def test_a_copy_whose_file_is_gone_is_asked_for_anew(cast: Cast, is_clip: bool):
    one = take(cast)
    copy = one.renditions.get()
    job = receiving.ask_to_prepare(one, at=NOW)
    if is_clip:
        clip = filmed.clip(cast, one, cast.swimmer)
        copy, job = filmed.copy(one, clip), copying.ask(clip, at=NOW)
    Job.objects.update(state=Job.State.DONE)
    storage.remove(str(copy.file))

    sweeping.sweep(at=NOW)

    assert Job.objects.get(key=job.key).state == Job.State.QUEUED
    assert not one.renditions.filter(pk=copy.pk).exists()
    one.refresh_from_db()
    assert one.state == (Recording.State.READY if is_clip else Recording.State.WAITING)


def test_without_its_original_the_row_stays_and_the_log_says_so(cast: Cast, caplog):
    one = filmed.ready(cast)

    sweeping.sweep(at=NOW)

    assert one.renditions.exists()
    assert {record.msg for record in caplog.records} >= {"original missing", "copy missing"}


def test_what_nobody_sees_any_more_is_not_made_anew(cast: Cast):
    one = take(cast)
    clip = filmed.clip(cast, one, cast.swimmer)
    filmed.copy(one, clip)
    clip.removed_at = NOW
    clip.save()

    sweeping.sweep(at=NOW)

    assert not Job.objects.exists()
