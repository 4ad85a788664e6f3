"""Real Celery workers on the database of the test, with a Redis of their own."""

from __future__ import annotations

import os
import signal
import time
from collections import Counter

import redis
from django.utils import timezone

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.jobs import kinds
from tests.jobs.conftest import PATIENCE, Crew, eventually
from tests.production.conftest import Celery, OwnRedis
from tests.soak import count

JOBS = 2000
LITTLE, OUTAGE = count(300, 2000), count(5, 20)


def ring(crew: Crew, first: int, last: int, *, pause: float = 0):
    return crew.run("-m", "tests.production.ringing", str(first), str(last), str(pause))


def put(kind: str, key: str = "a") -> Job:
    """Without a bell that this Redis hears: the sweeper has to find it."""
    return enqueue(kind, key=key, payload={}, at=timezone.now())


def runs_of(key: str) -> int:
    return kinds.lines("runs").count(key)


def all_done(jobs: int) -> bool:
    return Job.objects.filter(state=Job.State.DONE).count() == jobs


def assert_each_once(jobs: int) -> None:
    """One effect each. Only what a worker had in hand when it was killed may have begun twice."""
    assert Counter(Job.objects.values_list("state", flat=True)) == {"done": jobs}
    assert len(list(kinds.effects().iterdir())) == jobs
    begun_again = Job.objects.filter(attempts__gt=1).values_list("key", flat=True)
    assert set(kinds.lines("doubles")) <= set(begun_again)
    assert len(begun_again) <= 1


def test_it_works(celery: Celery):
    """The bell is heard: here is no beat, so nobody sweeps."""
    celery.worker()

    assert ring(celery.crew, 0, 1).wait(PATIENCE) == 0

    eventually(lambda: all_done(1))
    assert kinds.lines("runs") == ["0"]


def test_two_workers_do_every_job_once(celery: Celery):
    celery.worker()
    celery.worker()

    assert ring(celery.crew, 0, JOBS).wait(PATIENCE) == 0

    eventually(lambda: all_done(JOBS))
    assert_each_once(JOBS)
    assert Counter(Job.objects.values_list("attempts", flat=True)) == {1: JOBS}
    assert len({name.split("-")[-2] for name in Job.objects.values_list("worker", flat=True)}) == 2
    assert sorted(kinds.lines("runs"), key=int) == [str(number) for number in range(JOBS)]


def test_redis_stops_is_flushed_and_workers_are_killed(celery: Celery, own_redis: OwnRedis):
    doomed = [celery.worker(), celery.worker("media")]
    celery.worker()
    celery.beat()
    ringing = ring(celery.crew, 0, LITTLE, pause=2 * OUTAGE / LITTLE)
    eventually(lambda: Job.objects.count() > LITTLE / 8)

    own_redis.stop()
    time.sleep(OUTAGE)
    own_redis.start()
    eventually(lambda: Job.objects.filter(state=Job.State.DONE).count() > LITTLE / 2)
    with redis.Redis(unix_socket_path=str(own_redis.socket)) as client:
        client.flushall()

    film = put("tests.confined", "film")
    eventually(kinds.programs)
    for worker in doomed:
        os.killpg(worker.pid, signal.SIGKILL)
    eventually(lambda: not kinds.programs())
    celery.worker("media")
    eventually(lambda: runs_of("film") == 2)
    assert ringing.wait(PATIENCE) == 0
    eventually(lambda: all_done(LITTLE))

    Job.objects.filter(pk=film.pk).delete()
    assert_each_once(LITTLE)
    [longest] = [line for line in celery.crew.said().splitlines() if line.startswith("longest")]
    assert float(longest.split()[1]) < 4, "no page waited for a Redis that was away"


def test_a_killed_child_is_heard_of(celery: Celery):
    """The pool's process dies with what it had started; its parent lives and rings again."""
    worker = celery.worker("media")
    celery.worker()
    celery.beat()
    put("tests.confined")
    eventually(kinds.programs)
    [program] = kinds.programs()

    [child] = [pid for pid in celery.crew.alive(word="media") if pid != worker.pid]
    os.kill(child, signal.SIGKILL)

    eventually(lambda: runs_of("a") == 2)
    assert program not in kinds.programs()
    assert worker.poll() is None


def test_a_worker_that_is_stopped_finishes_its_job(celery: Celery):
    worker = celery.worker()
    celery.beat()
    job, next_job = put("tests.patient"), put("tests.patient", "b")
    eventually(lambda: runs_of("a") == 1)

    worker.terminate()
    (celery.crew.data / "go").touch()

    worker.wait(PATIENCE)
    job.refresh_from_db()
    next_job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.DONE, 1)
    assert (next_job.state, next_job.attempts) == (Job.State.QUEUED, 0)


def test_a_worker_that_may_not_wait_puts_its_job_back(celery: Celery):
    worker = celery.worker("media")
    celery.worker()
    celery.beat()
    job = put("tests.confined")
    eventually(kinds.programs)

    worker.terminate()
    time.sleep(1)
    assert worker.poll() is None, "the job may still finish"
    worker.send_signal(signal.SIGQUIT)

    worker.wait(PATIENCE)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.worker) == (Job.State.QUEUED, 0, "")
    assert kinds.programs() == []


def test_beat_rings_the_planners(celery: Celery):
    celery.crew.environment["FLAGLINE_TEST_PLANNER"] = "1"
    celery.worker("default,media")
    celery.beat()
    celery.beat()

    eventually(lambda: Job.objects.filter(kind="tests.other", state=Job.State.DONE).exists())

    assert Job.objects.count() == 1


def test_celery_without_redis_is_refused(crew: Crew):
    refused = crew.run("-m", "celery", "--app", "portal", "beat", FLAGLINE_REDIS="")

    assert refused.wait(PATIENCE) != 0
    assert "FLAGLINE_REDIS is not set" in crew.said()
