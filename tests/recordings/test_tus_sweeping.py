"""What nobody goes on with is gone, in the database and on the disk; the rest stays."""

from __future__ import annotations

import os
from datetime import timedelta
from uuid import UUID, uuid4

from django.utils import timezone

from portal.jobs import planning, running
from portal.jobs.models import Job
from portal.recordings import parting, receiving
from portal.recordings.models import Arrival, Recording
from tests.cast import NOW, Cast
from tests.recordings.films import everything_kept

FILM = b"\x00\x00\x00\x18ftypmp42" + bytes(1000)


def begun(cast: Cast) -> Arrival:
    film = receiving.Announced(name="lane 4.mp4", kind="video/mp4", length=len(FILM))
    return receiving.begin(cast.session, film, by=cast.coach, at=NOW)


def codes() -> set[UUID]:
    return set(Arrival.objects.values_list("code", flat=True))


def test_it_works(cast: Cast):
    young, old = begun(cast), begun(cast)
    Arrival.objects.filter(pk=old.pk).update(expires_at=NOW)

    receiving.sweep(at=NOW)

    assert codes() == {young.code}
    assert everything_kept() == [f"arriving/{young.code}.part"]


def test_a_row_without_a_file(cast: Cast):
    parting.remove(begun(cast).code)

    receiving.sweep(at=NOW)

    assert codes() == set()


def test_a_file_without_a_row(cast: Cast):
    old, young = uuid4(), uuid4()
    for code in (old, young):
        parting.begin(code)
    then = parting.path_of(old).stat().st_mtime - receiving.ORPHAN_SECONDS - 60
    os.utime(parting.path_of(old), (then, then))

    receiving.sweep(at=NOW)

    assert everything_kept() == [f"arriving/{young}.part"], "whose row may be coming"


def test_a_film_that_has_come_in_outlives_its_upload(cast: Cast):
    arrival = begun(cast)
    receiving.add(arrival, [FILM], offset=0)
    receiving.finish(arrival, at=NOW)

    receiving.sweep(at=NOW)
    assert codes() == {arrival.code}
    receiving.sweep(at=NOW + receiving.KEPT + timedelta(days=1))

    assert codes() == set()
    assert everything_kept() == [Recording.objects.get().original.name]


def test_two_who_bring_the_last_byte(cast: Cast):
    one = begun(cast)
    receiving.add(one, [FILM], offset=0)
    other = Arrival.objects.get()

    kept = receiving.finish(one, at=NOW)

    assert receiving.finish(other, at=NOW) in (kept, None)
    assert receiving.offset(other) == len(FILM)
    assert Recording.objects.count() == Job.objects.count() == 1


def test_it_comes_round_by_itself(cast: Cast):
    arrival = begun(cast)
    at = timezone.now()
    Arrival.objects.update(expires_at=NOW)

    planning.plan_due(at=at)
    job = Job.objects.get(kind="recordings.sweep")
    assert running.run_one(job.code, worker="test", at=at)

    assert codes() == set()
    assert not parting.path_of(arrival.code).exists()
