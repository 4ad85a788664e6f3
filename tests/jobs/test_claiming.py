from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest
from django.db import connection

from portal.jobs import claiming
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.cast import NOW

LEASE = timedelta(seconds=30)
AFTER_LEASE = NOW + LEASE + timedelta(seconds=1)


@pytest.fixture(autouse=True)
def lease(settings) -> None:
    settings.JOB_LEASE_SECONDS = 30


def queued(key: str = "a", *, kind: str = "tests.once", at: datetime = NOW) -> Job:
    return enqueue(kind, key=key, payload={}, at=at)


def claim(worker: str = "one", *, at: datetime = NOW) -> Job | None:
    return claiming.claim(queues=["default", "media"], worker=worker, at=at)


def held(worker: str = "one", *, at: datetime = NOW) -> Job:
    job = claim(worker, at=at)
    assert job is not None
    return job


def test_it_works(db):
    queued()

    job = held()

    for seen in (job, Job.objects.get()):
        assert (seen.state, seen.worker, seen.attempts) == (Job.State.RUNNING, "one", 1)
        assert seen.lease_until == NOW + LEASE


def test_nothing_is_claimed_twice(db):
    queued()

    assert claim("one") is not None
    assert claim("two") is None


def test_what_is_not_due_waits(db):
    queued(at=NOW + timedelta(seconds=1))

    assert claim() is None
    assert claim(at=NOW + timedelta(seconds=1)) is not None


def test_the_first_queue_goes_first_and_in_it_the_longest_waiting(db):
    queued("film", kind="tests.other", at=NOW - timedelta(hours=1))
    queued("late")
    queued("early", at=NOW - timedelta(minutes=1))

    assert [held().key for _ in range(3)] == ["early", "late", "film"]


def test_the_patient_kinds_of_a_queue_come_last(db, settings):
    settings.PATIENT_JOBS = ["tests.patient"]
    queued("copy", kind="tests.patient", at=NOW - timedelta(hours=1))
    queued("film")

    assert [held().key for _ in range(2)] == ["film", "copy"]


def test_other_queues_are_left_alone(db):
    queued(kind="tests.other")

    assert claiming.claim(queues=["default"], worker="one", at=NOW) is None


def test_one_job_is_claimed_by_its_code(db):
    queued("a")
    wanted = queued("b")

    job = claiming.claim_one(wanted.code, worker="one", at=NOW)

    assert job == wanted
    assert claiming.claim_one(wanted.code, worker="two", at=NOW) is None


def test_a_job_is_taken_over_when_its_lease_has_run_out(db):
    queued()
    held("one")

    job = held("two", at=AFTER_LEASE)

    assert (job.worker, job.attempts) == ("two", 2)


def test_a_job_that_was_cut_off_three_times_is_not_run_again(db):
    queued()
    moments = [NOW + number * timedelta(minutes=1) for number in range(4)]
    for moment in moments[:3]:
        held(at=moment)

    assert claim(at=moments[3]) is None

    job = Job.objects.get()
    assert (job.state, job.ended_at) == (Job.State.FAILED, moments[3])
    assert job.problem == "The work was cut off 3 times and was not tried again."
    assert "attempt 3" in job.last_error


def test_many_at_once_share_the_jobs(transactional_db):
    for number in range(40):
        queued(str(number))

    def take_all(number: int) -> list[str]:
        try:
            taken = []
            while job := claim(f"worker {number}"):
                taken.append(job.key)
            return taken
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        taken = [key for keys in pool.map(take_all, range(8)) for key in keys]

    assert sorted(taken, key=int) == [str(number) for number in range(40)]
    assert set(Job.objects.values_list("attempts", flat=True)) == {1}


def test_a_renewed_lease_keeps_others_away(db):
    queued()
    job = held()

    assert claiming.renew(job, at=NOW + timedelta(seconds=20))
    assert claim("two", at=AFTER_LEASE) is None


def test_a_finished_job_is_done(db):
    queued()
    job = held()

    assert claiming.advance(job, share=0.4)
    assert Job.objects.get().progress == 0.4
    assert claiming.finish(job, at=AFTER_LEASE)

    job = Job.objects.get()
    assert (job.state, job.progress, job.ended_at) == (Job.State.DONE, 1, AFTER_LEASE)
    assert job.lease_until is None
    assert claim(at=AFTER_LEASE) is None


def test_who_lost_the_job_changes_nothing(db):
    queued()
    slow = held("slow")
    held("quick", at=AFTER_LEASE)
    before = Job.objects.values().get()

    assert not claiming.renew(slow, at=AFTER_LEASE)
    assert not claiming.advance(slow, share=0.5)
    assert not claiming.finish(slow, at=AFTER_LEASE)
    assert not claiming.fail(slow, problem="p", error="e", at=AFTER_LEASE)
    assert not claiming.fail_or_requeue(slow, problem="p", error="e", at=AFTER_LEASE)
    assert not claiming.put_back(slow, at=AFTER_LEASE)

    assert Job.objects.values().get() == before
    assert slow.state == Job.State.RUNNING


def test_the_same_worker_has_lost_its_earlier_attempt_too(db):
    queued()
    first = held("one")
    held("one", at=AFTER_LEASE)

    assert not claiming.finish(first, at=AFTER_LEASE)


def test_an_error_is_tried_three_times_with_pauses(db):
    queued()
    waits = []
    moment = NOW
    for _ in range(2):
        job = held(at=moment)
        assert claiming.fail_or_requeue(job, problem="p", error="trace", at=moment)
        assert claim(at=moment) is None
        waits.append((job.due_at - moment).seconds)
        moment = job.due_at
    assert Job.objects.get().problem == ""

    assert claiming.fail_or_requeue(held(at=moment), problem="p" * 400, error="trace", at=moment)

    job = Job.objects.get()
    assert waits == [5, 20]
    assert (job.state, job.attempts, job.ended_at) == (Job.State.FAILED, 3, moment)
    assert (job.problem, job.last_error) == ("p" * 300, "trace")


def test_what_is_put_back_has_lost_no_attempt(db):
    queued()

    assert claiming.put_back(held(), at=NOW)

    job = Job.objects.get()
    assert (job.state, job.attempts, job.worker) == (Job.State.QUEUED, 0, "")
    assert held("two").attempts == 1
