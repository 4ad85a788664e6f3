from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection, transaction

from portal.jobs.kinds import UnknownKind
from portal.jobs.models import Job
from portal.jobs.queueing import KeyTaken, NotFailed, enqueue, retry
from tests.cast import NOW

LATER = NOW + timedelta(minutes=5)


def test_it_works(db):
    job = enqueue("tests.other", key="a", payload={"recording": "b7"}, at=NOW)

    job.refresh_from_db()
    assert (job.state, job.queue, job.payload) == (Job.State.QUEUED, "media", {"recording": "b7"})
    assert (job.due_at, job.created_at, job.attempts) == (NOW, NOW, 0)


def test_the_same_key_is_the_same_job(db):
    first = enqueue("tests.once", key="a", payload={"n": "1"}, at=NOW)
    again = enqueue("tests.once", key="a", payload={"n": "2"}, at=LATER)

    assert again == first
    assert Job.objects.get().payload == {"n": "1"}


def test_the_same_key_at_once_is_one_job(transactional_db):
    def put(_number: int) -> int:
        try:
            return enqueue("tests.once", key="a", payload={}, at=NOW).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        found = set(pool.map(put, range(24)))

    assert found == {Job.objects.get().pk}


def test_a_key_of_another_kind_is_refused(db):
    enqueue("tests.once", key="a", payload={}, at=NOW)

    with pytest.raises(KeyTaken, match=r"'a' belongs to a job of the kind 'tests\.once'"):
        enqueue("tests.other", key="a", payload={}, at=NOW)


def test_an_unknown_kind_is_refused(db):
    with pytest.raises(UnknownKind, match=r"'tests\.none' is no kind of job"):
        enqueue("tests.none", key="a", payload={}, at=NOW)
    assert not Job.objects.exists()


def test_what_rolls_back_leaves_no_job(db):
    with pytest.raises(RuntimeError), transaction.atomic():
        enqueue("tests.once", key="a", payload={}, at=NOW)
        raise RuntimeError

    assert not Job.objects.exists()


def test_a_failed_job_can_be_put_back(db):
    job = enqueue("tests.once", key="a", payload={}, at=NOW)
    Job.objects.update(state=Job.State.FAILED, attempts=3, problem="No film.", ended_at=NOW)

    retry(job, at=LATER)

    assert (job.state, job.attempts, job.due_at) == (Job.State.QUEUED, 0, LATER)
    assert (job.problem, job.ended_at) == ("", None)


@pytest.mark.parametrize("state", [Job.State.QUEUED, Job.State.RUNNING, Job.State.DONE])
def test_no_other_job_can_be_put_back(db, state: Job.State):
    job = enqueue("tests.once", key="a", payload={}, at=NOW)
    Job.objects.update(state=state, attempts=1)

    with pytest.raises(NotFailed, match=f"is '{state}', not 'failed'"):
        retry(job, at=LATER)

    job = Job.objects.get()
    assert (job.state, job.attempts, job.due_at) == (state, 1, NOW)
