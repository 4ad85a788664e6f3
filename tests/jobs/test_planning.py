from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

import pytest
from django.conf import settings as portal_settings

from portal.jobs import kinds, planning
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.cast import NOW
from tests.jobs.conftest import Crew, eventually

SLOT = timedelta(seconds=300)


@pytest.fixture(autouse=True)
def planner(db, settings) -> None:
    settings.PLANNERS = {"tests.once": 300}


def look(*moments: datetime) -> list[str]:
    for moment in moments:
        planning.plan_due(at=moment)
    return list(Job.objects.order_by("created_at", "id").values_list("key", flat=True))


def test_it_works():
    slot = int(NOW.timestamp()) // 300

    keys = look(NOW, NOW + timedelta(seconds=299), NOW + SLOT)

    assert keys == [f"tests.once:{slot}", f"tests.once:{slot + 1}"]
    first = Job.objects.earliest("created_at")
    assert (first.kind, first.state, first.due_at) == ("tests.once", Job.State.QUEUED, NOW)


def test_a_slot_that_nobody_looked_in_is_not_made_up_for():
    assert len(look(NOW, NOW + 5 * SLOT)) == 2


def end_all(states: Iterable[Job.State], *, at: datetime) -> None:
    for job, state in zip(Job.objects.order_by("id"), states, strict=True):
        Job.objects.filter(pk=job.pk).update(state=state, ended_at=at)


def test_what_has_run_is_kept_for_a_day():
    look(NOW, NOW + SLOT)
    end_all([Job.State.DONE, Job.State.FAILED], at=NOW + SLOT)

    assert len(look(NOW + SLOT + planning.KEPT)) == 3
    assert len(look(NOW + SLOT + planning.KEPT + timedelta(seconds=1))) == 1


def test_what_has_not_run_stays():
    look(NOW)

    assert len(look(NOW + 2 * planning.KEPT)) == 2


def test_the_jobs_of_others_stay():
    enqueue("tests.other", key="a", payload={}, at=NOW)
    end_all([Job.State.DONE], at=NOW)

    assert "a" in look(NOW + 2 * planning.KEPT)


def test_every_planner_is_a_job():
    assert {kinds.queue_of(kind) for kind in portal_settings.PLANNERS} <= {"default", "media"}


def test_a_worker_looks_at_the_clock(crew: Crew):
    crew.start("work", "--queues", "default", FLAGLINE_TEST_PLANNER="1")
    crew.start("work", "--queues", "media", FLAGLINE_TEST_PLANNER="1")

    eventually(lambda: Job.objects.filter(kind="tests.other", state=Job.State.DONE).exists())

    assert Job.objects.filter(kind="tests.other").count() == 1
