"""A mail that opens the door lies about no longer than it has to, however its sending ends."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.conf import settings as django_settings
from django.utils import timezone

from portal.jobs.models import Job
from portal.mailroom import sending
from portal.mailroom.models import OutgoingMail
from tests.cast import NOW
from tests.mailroom.conftest import MakeMail
from tests.mailroom.relay import Relay, free_port
from tests.mailroom.test_jobs import enqueue, work

pytestmark = pytest.mark.django_db(transaction=True)
State = OutgoingMail.State
CODE = {"kind": OutgoingMail.Kind.CODE, "club": None, "text": "    NVPW-LSGP\n", "html": "<p>N</p>"}


def kept(mail: OutgoingMail) -> tuple[str, str, str]:
    mail.refresh_from_db()
    return mail.state, mail.text, mail.html


def test_it_works(server: Relay, make_mail: MakeMail):
    mail = make_mail(**CODE)

    sending.send(mail, at=NOW + timedelta(minutes=1))

    assert kept(mail) == (State.SENT, "", "")
    plain = server.message().get_body(("plain",))
    assert plain is not None
    assert "NVPW-LSGP" in plain.get_content()


def test_it_leaves_from_no_club(server: Relay, make_mail: MakeMail):
    sending.send(make_mail(**CODE), at=NOW)

    assert server.message()["From"].startswith("Flagline <")


def test_refused_by_the_server(server: Relay, make_mail: MakeMail):
    server.at_recipient = "550 <{address}> is nobody here"
    mail = make_mail(**CODE)
    with pytest.raises(sending.Undeliverable):
        sending.send(mail, at=NOW)

    assert kept(mail) == (State.FAILED, "", "")


def test_the_line_breaks_off(server: Relay, make_mail: MakeMail):
    server.hangs_up = True
    mail = make_mail(**CODE)
    with pytest.raises(sending.Undeliverable):
        sending.send(mail, at=NOW)

    assert kept(mail) == (State.UNKNOWN, "", "")


def test_the_worker_is_killed(server: Relay, make_mail: MakeMail):
    mail = make_mail(state=State.SENDING, **CODE)
    assert sending.doubt(mail)

    assert kept(mail) == (State.UNKNOWN, "", "")


def test_no_server_three_times(server: Relay, make_mail: MakeMail, settings):
    settings.EMAIL_PORT = free_port()
    mail = make_mail(created_at=timezone.now(), **CODE)
    job = enqueue(mail)
    for _ in range(Job.MAX_ATTEMPTS):
        assert mail.text
        work(job, mail)

    assert kept(mail) == (State.FAILED, "", "")


def test_once_it_works_no_longer_it_is_not_sent(server: Relay, make_mail: MakeMail):
    late = NOW + timedelta(seconds=django_settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT + 1)
    mail = make_mail(**CODE)
    with pytest.raises(sending.Undeliverable, match="not be sent in time"):
        sending.send(mail, at=late)

    assert kept(mail) == (State.FAILED, "", "")
    assert server.taken == []
    other = make_mail(key="notes ready:2:ada")
    sending.send(other, at=late)
    assert len(server.taken) == 1
    assert kept(other)[1] != ""
