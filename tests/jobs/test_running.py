from __future__ import annotations

import json
import logging
import threading
from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from portal.jobs import claiming, running
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from portal.kit.journal import JsonLines
from tests.jobs import kinds
from tests.jobs.conftest import eventually


def run(kind: str, *, key: str = "a") -> Job:
    """One attempt at a job of this kind, and the row it leaves."""
    now = timezone.now()
    job = enqueue(kind, key=key, payload={}, at=now)
    assert running.run_one(job.code, worker="one", at=now + timedelta(minutes=1))
    return Job.objects.get(pk=job.pk)


def test_it_works(transactional_db):
    job = run("tests.once")

    assert (job.state, job.progress, job.attempts) == (Job.State.DONE, 1, 1)
    assert job.ended_at is not None
    assert kinds.lines("runs") == ["a"]
    assert (kinds.effects() / "a").exists()


def test_ringing_twice_does_it_once(transactional_db):
    job = run("tests.once")

    assert not running.run_one(job.code, worker="two", at=timezone.now())
    assert kinds.lines("runs") == ["a"]


def test_a_bell_is_answered_with_the_most_urgent_job_of_its_queue(transactional_db, settings):
    settings.PATIENT_JOBS = ["tests.reporting"]
    now = timezone.now()
    patient = enqueue("tests.reporting", key="patient", payload={}, at=now)
    urgent = enqueue("tests.once", key="urgent", payload={}, at=now)
    at = now + timedelta(minutes=1)

    assert running.answer(patient.code, worker="one", at=at)
    assert list(Job.objects.filter(state=Job.State.DONE)) == [urgent]
    assert running.answer(urgent.code, worker="one", at=at)
    assert Job.objects.filter(state=Job.State.DONE).count() == 2
    assert not running.answer(patient.code, worker="one", at=at)


def test_a_hopeless_job_fails_at_once_with_its_own_words(db):
    job = run("tests.hopeless")

    assert (job.state, job.attempts) == (Job.State.FAILED, 1)
    assert job.problem == "This file is not a film."


def test_an_error_is_tried_three_times_and_then_told_readably(db):
    job = run("tests.broken")
    assert (job.state, job.attempts, job.problem) == (Job.State.QUEUED, 1, "")
    assert "OSError: Ines Falk.mov is unreadable" in job.last_error

    run("tests.broken")
    job = run("tests.broken")

    assert (job.state, job.attempts) == (Job.State.FAILED, 3)
    assert job.problem == "This did not work, for a reason on our side. It was tried 3 times."


def test_the_log_names_nobody(db, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(logging.INFO):
        job = run("tests.broken")

    lines = [JsonLines().format(record) for record in caplog.records]
    [broke] = [line for line in map(json.loads, lines) if line["event"] == "job broke"]
    assert (broke["kind"], broke["job"]) == ("tests.broken", str(job.code))
    assert broke["error"] == "OSError"
    assert "Ines" not in "".join(lines)


def test_a_kind_that_is_gone_is_an_error_like_any_other(db, settings):
    job = enqueue("tests.once", key="a", payload={}, at=timezone.now())
    settings.JOB_KINDS = {}

    running.run_one(job.code, worker="one", at=timezone.now())

    job.refresh_from_db()
    assert job.state == Job.State.QUEUED
    assert "UnknownKind: 'tests.once' is no kind of job" in job.last_error


def test_progress_is_written_at_whole_percents(db, django_assert_max_num_queries):
    with django_assert_max_num_queries(120):
        run("tests.reporting")


def test_a_job_taken_over_stops_at_its_next_report(db):
    job = run("tests.robbed")

    assert not (kinds.effects() / "a").exists()
    assert (job.state, job.worker) == (Job.State.RUNNING, "somebody else")


def test_the_end_of_a_job_taken_over_is_not_recorded(db, caplog: pytest.LogCaptureFixture):
    job = run("tests.robbed_silently")

    assert (job.state, job.worker) == (Job.State.RUNNING, "somebody else")
    assert "taken over, nothing recorded" in caplog.text


@pytest.fixture
def claimed(transactional_db, settings) -> Job:
    """A job whose lease has to be renewed ten times a second."""
    settings.JOB_LEASE_SECONDS = 0.3
    job = enqueue("tests.once", key="a", payload={}, at=timezone.now())
    claimed = claiming.claim_one(job.code, worker="one", at=timezone.now())
    assert claimed is not None
    return claimed


def test_the_heartbeat_renews_the_lease_while_the_work_lasts(claimed: Job):
    with running.heartbeat(claimed):
        for _ in range(3):
            before = Job.objects.get().lease_until
            longer = Job.objects.filter(lease_until__gt=before)
            eventually(longer.exists)

    assert "heartbeat" not in {thread.name for thread in threading.enumerate()}


def test_the_heartbeat_ends_when_the_job_is_taken_over(claimed: Job):
    with running.heartbeat(claimed):
        Job.objects.update(worker="somebody else")
        eventually(lambda: "heartbeat" not in {thread.name for thread in threading.enumerate()})


def test_a_missed_beat_is_not_the_end(claimed: Job, monkeypatch, caplog: pytest.LogCaptureFixture):
    renew, beats = claiming.renew, []

    def stumble(job: Job, *, at: datetime) -> bool:
        beats.append(at)
        if len(beats) == 1:
            connection.cursor().execute("SELECT nothing FROM nowhere")
        return renew(job, at=at)

    monkeypatch.setattr(claiming, "renew", stumble)
    with running.heartbeat(claimed):
        eventually(lambda: len(beats) == 3)

    [missed] = [each for each in caplog.records if each.getMessage() == "no heartbeat"]
    assert vars(missed)["error"] in ("OperationalError", "ProgrammingError")
