"""Bells in a real Redis, which nobody answers here."""

from __future__ import annotations

import json
import time
from base64 import b64decode
from collections.abc import Iterator
from datetime import timedelta

import pytest
import redis
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from portal.jobs import claiming, doorbell, sweeping
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue, retry

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def server() -> Iterator[redis.Redis]:
    """The tests' own Redis, empty."""
    with redis.Redis.from_url(settings.REDIS.replace("redis+socket", "unix")) as client:
        client.flushall()
        yield client
        client.config_set("maxmemory", 0)


def rung(server: redis.Redis, queue: str = "default") -> list[list[str]]:
    """What the messages that wait carry, newest first."""
    messages = [json.loads(message) for message in server.lrange(queue, 0, -1)]
    return [json.loads(b64decode(message["body"]))[0] for message in messages]


def put(key: str = "a", *, kind: str = "tests.once") -> Job:
    return enqueue(kind, key=key, payload={"child": "Ines"}, at=timezone.now())


def test_it_works(server: redis.Redis):
    job, film = put(), put("b", kind="tests.other")

    assert rung(server) == [[str(job.code)]]
    assert rung(server, "media") == [[str(film.code)]]
    assert "Ines" not in str(server.lrange("default", 0, -1))


def test_nobody_rings_for_what_rolls_back(server: redis.Redis):
    with pytest.raises(RuntimeError), transaction.atomic():
        put()
        raise RuntimeError

    assert rung(server) == []


def test_nobody_hears_of_a_job_before_it_stands(server: redis.Redis):
    with transaction.atomic():
        put()
        assert rung(server) == []

    assert len(rung(server)) == 1


def test_the_same_job_is_rung_once(server: redis.Redis):
    put()
    put()

    assert len(rung(server)) == 1


def test_what_is_put_back_is_rung_again(server: redis.Redis):
    job = put()
    Job.objects.update(state=Job.State.FAILED)

    retry(job, at=timezone.now())

    assert rung(server) == [[str(job.code)]] * 2


def test_a_flushed_redis_takes_new_bells(server: redis.Redis):
    put()
    server.flushall()

    job = put("b")

    assert rung(server) == [[str(job.code)]]


def test_a_redis_that_takes_nothing_fails_no_page(server: redis.Redis):
    server.config_set("maxmemory", 1)

    put()

    assert Job.objects.count() == 1
    assert rung(server) == []


def test_a_redis_that_hangs_delays_one_page_only(server: redis.Redis):
    began = time.monotonic()
    server.client_pause(5_000)

    for number in range(20):
        put(str(number))

    assert 1 < time.monotonic() - began < 4.5
    assert Job.objects.count() == 20


def late(*keys: str, kind: str = "tests.once") -> None:
    """Jobs that have been due for a minute and whose bells are lost."""
    then = timezone.now() - timedelta(minutes=1)
    Job.objects.bulk_create(
        Job(kind=kind, key=key, queue="default", due_at=then, created_at=then) for key in keys
    )


def test_the_sweeper_rings_for_what_nobody_heard(server: redis.Redis):
    late("a", "b")

    sweeping.sweep()

    first, second = Job.objects.order_by("id")
    assert rung(server) == [[str(second.code)], [str(first.code)]]


def test_the_sweeper_rings_when_a_lease_has_run_out(server: redis.Redis):
    late("a")
    job = Job.objects.get()
    claiming.claim_one(job.code, worker="dead", at=timezone.now() - timedelta(minutes=1))
    Job.objects.update(lease_until=timezone.now() - timedelta(seconds=30))

    sweeping.sweep()

    assert rung(server) == [[str(job.code)]]


def test_the_sweeper_leaves_busy_workers_alone(server: redis.Redis):
    late("a", "b")
    for _ in range(3):
        sweeping.sweep()

    assert len(rung(server)) == 2


def test_the_sweeper_waits_for_what_is_due_only_now(server: redis.Redis):
    put()
    server.flushall()

    sweeping.sweep()

    assert rung(server) == []


def test_a_bell_that_comes_twice_does_it_once(settings):
    job = put()

    doorbell.do(str(job.code))
    doorbell.do(str(job.code))

    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.DONE, 1)
