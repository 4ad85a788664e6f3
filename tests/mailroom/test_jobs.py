"""Sending as the worker does it: retried when that is safe, and ended readably when not."""

from __future__ import annotations

import pytest

from portal.jobs import queueing, running
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from tests.cast import NOW
from tests.mailroom.conftest import MakeMail
from tests.mailroom.relay import Relay, free_port

pytestmark = pytest.mark.django_db(transaction=True)
State = OutgoingMail.State


def enqueue(mail: OutgoingMail) -> Job:
    return queueing.enqueue(
        "mailroom.send", key=f"mail:{mail.code}", payload={"mail": str(mail.code)}, at=NOW
    )


def work(job: Job, mail: OutgoingMail) -> None:
    """One attempt, however long the queue would wait before it."""
    job.refresh_from_db()
    running.run_one(job.code, worker="w", at=max(job.due_at, NOW))
    job.refresh_from_db()
    mail.refresh_from_db()


def test_it_works(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    job = enqueue(mail)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.DONE, State.SENT)
    assert len(server.taken) == 1


def test_enqueued_twice_it_is_sent_once(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    for _ in range(2):
        work(enqueue(mail), mail)
    assert len(server.taken) == 1


def test_no_server_is_tried_three_times_and_can_be_put_back(
    server: Relay, make_mail: MakeMail, settings
):
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, free_port()
    mail = make_mail()
    job = enqueue(mail)
    for _ in range(Job.MAX_ATTEMPTS - 1):
        work(job, mail)
        assert (job.state, mail.state) == (Job.State.QUEUED, State.DUE)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.FAILED, State.DUE)
    assert "The mail server did not take it" in job.problem
    settings.EMAIL_PORT = port
    queueing.retry(job, at=NOW)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.DONE, State.SENT)


def test_a_refused_address_is_not_tried_again(server: Relay, make_mail: MakeMail):
    server.at_recipient = "550 <{address}> is nobody here"
    mail = make_mail()
    job = enqueue(mail)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.FAILED, State.FAILED)
    assert "a***@example.org" in job.problem
    assert mail.address not in job.problem + job.last_error


def test_a_lost_answer_is_not_tried_again(server: Relay, make_mail: MakeMail):
    server.hangs_up = True
    mail = make_mail()
    job = enqueue(mail)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.FAILED, State.UNKNOWN)
    assert len(server.taken) == 1


def test_a_killed_worker_leaves_a_doubt_and_no_second_mail(server: Relay, make_mail: MakeMail):
    """It died between its claim and the end; another attempt finds the claim."""
    mail = make_mail(state=State.SENDING)
    job = enqueue(mail)
    Job.objects.filter(pk=job.pk).update(attempts=1)
    work(job, mail)
    assert (job.state, mail.state) == (Job.State.FAILED, State.UNKNOWN)
    assert "may have arrived" in job.problem
    assert server.taken == []
