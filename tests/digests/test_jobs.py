"""From the planner's round to the reader, over a real line to a real mail server."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from portal.digests.models import Delivered, Mention
from portal.jobs import queueing, running
from portal.jobs.models import Job
from portal.mailroom import resending
from portal.mailroom.models import OutgoingMail
from portal.people.models import Guardianship, User
from portal.review import publishing
from tests.cast import Cast
from tests.digests.practice import DUE, add_sibling, correction, publish, stored
from tests.mailroom.relay import Relay, free_port, relay

pytestmark = pytest.mark.django_db(transaction=True)
State = OutgoingMail.State
LATE = DUE + timedelta(minutes=5)


@pytest.fixture
def server() -> Iterator[Relay]:
    with relay() as handler:
        yield handler


def do(job: Job, *, at=DUE) -> Job:
    job.refresh_from_db()
    assert running.run_one(job.code, worker="w", at=max(at, job.due_at))
    job.refresh_from_db()
    return job


def do_all(jobs: list[Job], *, at=DUE) -> None:
    for job in jobs:
        do(job, at=at)


def plan(*, at=DUE) -> list[Job]:
    """One round; gives the jobs that wait to send."""
    key = f"digests.plan:{at.isoformat()}"
    job = do(queueing.enqueue("digests.plan", key=key, payload={}, at=at), at=at)
    assert job.state == Job.State.DONE
    waiting = Job.objects.filter(kind="digests.send", state=Job.State.QUEUED)
    return list(waiting.order_by("pk"))


def test_it_works(cast: Cast, server: Relay):
    publish(cast)
    jobs = [do(job) for job in plan()]
    assert {job.state for job in jobs} == {Job.State.DONE}
    assert sorted(envelope.rcpt_tos for envelope in server.taken) == [
        [cast.guardian.email],
        [cast.co_guardian.email],
    ]
    message = server.message()
    assert message["Subject"] == "Ines at the pool, 16 to 22 November"
    assert message["List-Id"].startswith("<weekly-digest.")
    assert message["Auto-Submitted"] == "auto-generated"
    for kind in ("plain", "html"):
        body = message.get_body((kind,))
        assert body is not None
        assert "Heels right up, every kick." in body.get_content()
    assert {mail.state for mail in stored()} == {State.SENT}


def test_the_round_goes_on_and_nobody_gets_a_second(cast: Cast, server: Relay):
    publish(cast)
    for minutes in range(0, 20, 5):
        do_all(plan(at=DUE + timedelta(minutes=minutes)))
    assert len(server.taken) == 2


def test_taken_back_before_it_leaves_it_does_not_leave(cast: Cast, server: Relay):
    review = publish(cast)
    jobs = plan()
    publishing.take_back(review, by=cast.coach, at=DUE)
    assert {do(job).state for job in jobs} == {Job.State.DONE}
    assert plan(at=LATE) == []
    assert server.taken == []
    assert {mail.state for mail in stored()} == {State.SKIPPED}


def test_what_may_still_be_told_comes_with_the_next_round(cast: Cast, server: Relay):
    review = publish(cast, correction("Taken back."))
    publish(cast, of=add_sibling(cast))
    jobs = plan()
    publishing.take_back(review, by=cast.coach, at=DUE)
    do_all(jobs)
    do_all(plan(at=LATE), at=LATE)
    [envelope] = server.taken
    assert envelope.rcpt_tos == [cast.guardian.email]
    body = server.message().get_body(("plain",))
    assert body is not None
    assert "Heels right up" in body.get_content()
    assert "Taken back" not in body.get_content()


def test_corrected_and_published_again_before_it_leaves_it_tells_the_new(cast: Cast, server: Relay):
    review = publish(cast, correction("First words."))
    jobs = plan()
    publishing.take_back(review, by=cast.coach, at=DUE - timedelta(minutes=1))
    review.comments.update(words="Second words.")
    publishing.publish(review, by=cast.coach, at=DUE - timedelta(minutes=1))
    do_all(jobs)
    do_all(plan(at=LATE), at=LATE)
    assert len(server.taken) == 2
    body = server.message().get_body(("plain",))
    assert body is not None
    assert "Second words." in body.get_content()


@pytest.mark.parametrize("name", ["Ines", "Jonas"])
def test_barred_before_it_leaves_not_even_the_name_goes(cast: Cast, server: Relay, name: str):
    """Of one child there is news, of the other only the line that there is none."""
    add_sibling(cast)
    publish(cast)
    jobs = plan()
    tie = Guardianship.objects.filter(guardian=cast.guardian, swimmer__first_name=name)
    tie.update(barred_from=DUE.date())
    do_all(jobs)
    do_all(plan(at=LATE), at=LATE)
    letters = [server.message(number) for number in range(len(server.taken))]
    to_ada = [letter for letter in letters if letter["To"] == cast.guardian.email]
    assert len(to_ada) == (1 if name == "Jonas" else 0)
    assert all(name not in letter.as_string() for letter in to_ada)


def test_suspended_before_it_leaves(cast: Cast, server: Relay):
    publish(cast)
    jobs = plan()
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    do_all(jobs)
    assert [envelope.rcpt_tos for envelope in server.taken] == [[cast.co_guardian.email]]


def test_no_server_now_and_the_same_mail_an_hour_later(cast: Cast, server: Relay, settings):
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, free_port()
    publish(cast)
    jobs = [do(job) for job in plan()]
    assert {job.state for job in jobs} == {Job.State.QUEUED}
    assert [job.pk for job in plan(at=LATE)] == [job.pk for job in jobs]
    settings.EMAIL_PORT = port
    do_all(jobs, at=DUE + timedelta(hours=1))
    assert len(server.taken) == 2


def test_an_unfinished_sending_is_left_in_doubt(cast: Cast, server: Relay):
    publish(cast)
    [job, _] = plan()
    OutgoingMail.objects.filter(code=job.payload["mail"]).update(state=State.SENDING)
    assert do(job).state == Job.State.FAILED
    assert OutgoingMail.objects.get(code=job.payload["mail"]).state == State.UNKNOWN
    assert server.taken == []


def test_refused_for_good_it_is_told_a_week_later(cast: Cast, server: Relay):
    publish(cast)
    server.at_recipient = "550 <{address}> is nobody here"
    assert {do(job).state for job in plan()} == {Job.State.FAILED}
    server.at_recipient = ""
    week_later = DUE + timedelta(days=7)
    do_all(plan(at=week_later), at=week_later)
    assert len(server.taken) == 2


def test_an_erased_mail_takes_its_traces_along(cast: Cast):
    publish(cast)
    plan()
    OutgoingMail.objects.all().delete()
    assert Delivered.objects.count() == Mention.objects.count() == 0


def test_sent_once_more_by_hand_it_asks_again(cast: Cast, server: Relay):
    publish(cast)
    jobs = plan()
    OutgoingMail.objects.filter(pk__in=[mail.pk for mail in stored()]).update(state=State.FAILED)
    for mail in stored():
        resending.resend(mail, by=cast.head_coach, at=LATE)
    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DUE.date())

    again = Job.objects.filter(kind="digests.send").exclude(pk__in=[job.pk for job in jobs])
    do_all(list(again), at=LATE)

    assert [envelope.rcpt_tos for envelope in server.taken] == [[cast.co_guardian.email]]
    assert {mail.recipient: mail.state for mail in stored()}[cast.guardian] == State.SKIPPED
