"""The database settings that let pages and workers write side by side."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

from django.db import OperationalError, connection, transaction

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.cast import NOW
from tests.soak import count

WRITERS = 8
ROUNDS = count(50, 1000)


def pragma(name: str) -> object:
    with connection.cursor() as cursor:
        return cursor.execute(f"PRAGMA {name}").fetchone()[0]


def test_the_settings_arrive(transactional_db):
    assert pragma("journal_mode") == "wal"
    assert pragma("busy_timeout") == 20_000
    assert pragma("foreign_keys") == 1


def test_writers_that_read_first_wait_for_their_turn(transactional_db):
    job = enqueue("tests.once", key="a", payload={}, at=NOW)
    begin = threading.Barrier(WRITERS)

    def add_up(_number: int) -> int:
        """Read, then write what was read plus one; how often the database was locked."""
        locked = 0
        begin.wait()
        for _ in range(ROUNDS):
            try:
                with transaction.atomic():
                    seen = Job.objects.get(pk=job.pk).attempts
                    Job.objects.filter(pk=job.pk).update(attempts=seen + 1)
            except OperationalError:
                locked += 1
        connection.close()
        return locked

    with ThreadPoolExecutor(WRITERS) as pool:
        locked = sum(pool.map(add_up, range(WRITERS)))

    assert locked == 0
    assert Job.objects.get().attempts == WRITERS * ROUNDS
