"""The outbox, as whoever heads a club reads it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs.models import Job
from portal.mailroom import dispatching
from portal.mailroom.models import OutgoingMail
from tests.cast import NOW, Cast, signed_in
from tests.mailroom.conftest import MakeMail

State = OutgoingMail.State
Kind = OutgoingMail.Kind


@pytest.fixture
def head(cast: Cast) -> Client:
    return signed_in(cast.head_coach)


def outbox(cast: Cast) -> str:
    return reverse("mailroom:outbox", args=[cast.club.code])


def again(mail: OutgoingMail) -> str:
    return reverse("mailroom:send_again", args=[mail.code])


def test_it_works(head: Client, cast: Cast, make_mail: MakeMail):
    make_mail(state=State.SENT, sent_at=NOW)
    make_mail(key="2", state=State.FAILED, last_error="550 no such mailbox")
    make_mail(key="3", state=State.UNKNOWN)
    page = head.get(outbox(cast)).content.decode()
    assert page.count("Ada Falk") == 3 + 2, "each, and beside the two buttons"
    assert "a***@example.org" in page
    assert "ada.falk@example.org" not in page
    assert "550 no such mailbox" in page
    assert "it may have arrived or not" in page
    assert "no such mailbox" not in head.get(outbox(cast) + "?state=sent").content.decode()


@pytest.mark.parametrize("kind", [Kind.CODE, Kind.SECURITY, Kind.SAFEGUARDING])
def test_what_is_nobodys_business_is_not_there(
    head: Client, cast: Cast, make_mail: MakeMail, kind: Kind
):
    mail = make_mail(kind=kind, state=State.FAILED)
    page = head.get(outbox(cast)).content.decode()
    assert "No mail yet." in page
    assert head.post(again(mail)).status_code == 404


@pytest.mark.parametrize("state", [State.FAILED, State.UNKNOWN])
def test_it_goes_once_more(head: Client, cast: Cast, make_mail: MakeMail, state: State):
    mail = make_mail()
    dispatching.dispatch(mail, at=NOW, kind="review.send_notice", review="of-then")
    OutgoingMail.objects.update(state=state, last_error="broke off")

    page = head.post(again(mail), follow=True).content.decode()

    assert "It goes out once more" in page
    mail.refresh_from_db()
    assert (mail.state, mail.last_error) == (State.DUE, "")
    job = Job.objects.order_by("-pk")[0]
    assert (job.kind, job.payload["review"]) == ("review.send_notice", "of-then")
    assert Entry.objects.filter(thing="outgoingmail", thing_code=mail.code).count() == 1


@pytest.mark.parametrize("state", [State.SENT, State.DUE, State.SENDING, State.SKIPPED])
def test_nothing_goes_twice(head: Client, make_mail: MakeMail, state: State):
    mail = make_mail(state=state)
    page = head.post(again(mail), follow=True).content.decode()
    assert "Nothing was sent." in page
    assert not Job.objects.exists()


def test_a_weekly_mail_that_a_later_one_told(head: Client, make_mail: MakeMail):
    mail = make_mail(kind=Kind.WEEKLY, state=State.FAILED)
    make_mail(kind=Kind.WEEKLY, key="next", created_at=NOW + timedelta(days=7))
    assert "A later weekly mail told it." in head.post(again(mail), follow=True).content.decode()


def test_another_clubs_head_coach(cast: Cast, make_mail: MakeMail):
    mail = make_mail(state=State.FAILED)
    rival = signed_in(cast.rival_coach)
    assert rival.get(outbox(cast)).status_code == 404
    assert rival.post(again(mail)).status_code == 404


def test_sixty_mails_take_no_more_queries_than_two(head: Client, cast: Cast, make_mail: MakeMail):
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            head.get(outbox(cast))
        return len(queries)

    for number in range(2):
        make_mail(key=str(number))
    few = count()
    for number in range(2, 60):
        make_mail(key=str(number))
    assert count() == few


def test_without_a_job_nobody_would_ask_its_reader(head: Client, make_mail: MakeMail):
    mail = make_mail(state=State.FAILED)
    page = head.post(again(mail), follow=True).content.decode()
    assert "It is too old to be sent once more. Nothing was sent." in page
    mail.refresh_from_db()
    assert mail.state == State.FAILED
