"""Real worker processes, and what they leave when they are stopped or killed."""

from __future__ import annotations

import json
import os
import re
import signal
from collections import Counter

from django.utils import timezone

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.jobs import kinds
from tests.jobs.conftest import PATIENCE, Crew, eventually

JOBS = 2000


def put(kind: str, key: str = "a") -> Job:
    return enqueue(kind, key=key, payload={}, at=timezone.now())


def started(*keys: str) -> bool:
    return kinds.lines("runs") == list(keys)


def state_of(job: Job) -> tuple[str, int]:
    job.refresh_from_db()
    return job.state, job.attempts


def test_it_works(crew: Crew):
    job, failing = put("tests.once"), put("tests.broken", "b")

    assert crew.start("work", "--once").wait(PATIENCE) == 0

    assert state_of(job) == (Job.State.DONE, 1)
    assert state_of(failing) == (Job.State.QUEUED, 1)
    lines = map(json.loads, re.findall(r"^\{.*\}$", crew.said(), re.M))
    [ended] = [line for line in lines if line.get("job") == str(job.code)]
    assert (ended["event"], ended["state"], ended["attempt"]) == ("job ended", "done", 1)


def test_two_workers_do_every_job_once(crew: Crew):
    now = timezone.now()
    Job.objects.bulk_create(
        Job(kind="tests.once", queue="default", key=str(number), due_at=now, created_at=now)
        for number in range(JOBS)
    )

    workers = [crew.start("work", "--once") for _ in range(2)]
    assert [worker.wait(PATIENCE) for worker in workers] == [0, 0]

    assert Counter(Job.objects.values_list("state", "attempts")) == {("done", 1): JOBS}
    assert Job.objects.values("worker").distinct().count() == 2
    assert sorted(kinds.lines("runs"), key=int) == [str(number) for number in range(JOBS)]
    assert len(list(kinds.effects().iterdir())) == JOBS
    assert kinds.lines("doubles") == []


def test_what_a_killed_worker_left_is_done_by_another(crew: Crew):
    job = put("tests.endless_at_first")
    first = crew.start("work")
    eventually(lambda: started("a"))
    crew.start("work")

    first.kill()
    eventually(lambda: state_of(job)[0] == Job.State.DONE, within=60)

    assert job.attempts == 2
    assert started("a", "a")
    assert (kinds.effects() / "a").exists()
    assert kinds.lines("doubles") == []


def test_a_worker_that_is_stopped_finishes_its_job(crew: Crew):
    job, next_job = put("tests.patient"), put("tests.patient", "b")
    worker = crew.start("work")
    eventually(lambda: started("a"))

    worker.send_signal(signal.SIGTERM)
    (crew.data / "go").touch()

    assert worker.wait(PATIENCE) == 0
    assert state_of(job) == (Job.State.DONE, 1)
    assert state_of(next_job) == (Job.State.QUEUED, 0)


def test_an_idle_worker_stops(crew: Crew):
    worker = crew.start("work")
    put("tests.once")
    eventually(lambda: started("a"))

    worker.send_signal(signal.SIGINT)

    assert worker.wait(PATIENCE) == 0


def test_a_job_that_outlasts_the_grace_is_put_back(crew: Crew):
    job = put("tests.endless")
    worker = crew.start("work", "--grace", "0.5")
    eventually(lambda: started("a"))

    worker.send_signal(signal.SIGTERM)

    assert worker.wait(PATIENCE) == 0
    assert state_of(job) == (Job.State.QUEUED, 0)
    assert job.worker == ""


def test_a_second_signal_hastens_and_ends_what_the_job_started(crew: Crew):
    job = put("tests.program")
    worker = crew.start("work", "--grace", "600")
    eventually(lambda: started("a"))
    assert len(crew.alive(word="sleep")) == 1

    worker.send_signal(signal.SIGTERM)
    worker.send_signal(signal.SIGINT)

    assert worker.wait(PATIENCE) == 0
    assert state_of(job) == (Job.State.QUEUED, 0)
    assert crew.alive() == []


def test_a_worker_whose_parent_is_gone_stops(crew: Crew):
    """Here by looking; under `serve` the kernel tells it too."""
    assert crew.start("work", "--parent", str(os.getppid())).wait(PATIENCE) == 0


def test_a_queue_that_nobody_fills_is_refused(crew: Crew):
    assert crew.start("work", "--queues", "default,deafult").wait(PATIENCE) == 1
    assert "'default,deafult' names a queue that no job waits in. Use any of: default, media." in (
        crew.said()
    )
