"""Mail that comes back, and what follows from it."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta

import pytest
from django.conf import settings as django_settings
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.mailroom import bouncing, refusing, sending
from portal.mailroom.bouncing import Outcome
from portal.mailroom.models import OutgoingMail, Refusal, Stop
from tests.cast import NOW, Cast, signed_in
from tests.mailroom import reports
from tests.mailroom.conftest import MakeMail
from tests.mailroom.relay import Relay

pytestmark = pytest.mark.django_db(transaction=True)
State = OutgoingMail.State
LATER = NOW + timedelta(minutes=5)


def state_of(mail: OutgoingMail) -> tuple[str, str]:
    mail.refresh_from_db()
    return mail.state, mail.last_error


def test_it_works(server: Relay, make_mail: MakeMail, settings):
    settings.BOUNCES_TO = "bounces@portal.example.org"
    mail = make_mail()
    sending.send(mail, at=NOW)
    back = server.taken[0].mail_from
    assert back == f"bounces+{mail.code.hex}@portal.example.org"
    assert server.message()["From"].addresses[0].addr_spec != back

    assert bouncing.take(reports.bounce(to=back), at=LATER) == Outcome.BOUNCED

    state, why = state_of(mail)
    assert state == State.FAILED
    assert why == "It came back: 5.1.1 550 <a***@example.org> no such mailbox"
    assert Refusal.objects.get().address == mail.address


def test_it_is_known_by_the_message_it_quotes(make_mail: MakeMail):
    mail = make_mail(state=State.SENT)
    assert bouncing.take(reports.bounce(quoted=mail.code.hex), at=LATER) == Outcome.BOUNCED
    assert state_of(mail)[0] == State.FAILED


def test_nothing_more_goes_there_but_the_way_in(server: Relay, make_mail: MakeMail):
    bounced = make_mail(state=State.SENT)
    bouncing.take(reports.bounce(quoted=bounced.code.hex), at=LATER)
    notice = make_mail(key="another")
    sending.send(notice, at=LATER)
    state, why = state_of(notice)
    assert (state, server.taken) == (State.SKIPPED, [])
    assert why.startswith("Mail came back from this address: 5.1.1")

    code = make_mail(key="code", kind=OutgoingMail.Kind.CODE, created_at=LATER)
    sending.send(code, at=LATER)
    assert len(server.taken) == 1
    assert not Refusal.objects.exists(), "a mail that went there shows that it works"


def test_the_server_itself_refuses_the_address(server: Relay, make_mail: MakeMail):
    server.at_recipient = "550 5.1.1 <{address}> unknown"
    with pytest.raises(sending.Undeliverable):
        sending.send(make_mail(), at=LATER)
    assert "a***@example.org" in Refusal.objects.get().said


@pytest.mark.parametrize("reply", ["550 5.7.1 <{address}> policy", "552 5.2.2 <{address}> full"])
def test_what_is_not_about_the_address(server: Relay, make_mail: MakeMail, reply: str):
    server.at_recipient = reply
    with pytest.raises(sending.Undeliverable):
        sending.send(make_mail(), at=LATER)
    assert not Refusal.objects.exists()


@pytest.mark.parametrize(
    "told", [{"action": "delayed", "status": "4.4.1"}, {"action": "delivered", "status": "2.0.0"}]
)
def test_late_is_not_lost(make_mail: MakeMail, told: dict[str, str]):
    mail = make_mail(state=State.SENT)
    raw = reports.bounce(quoted=mail.code.hex, **told)
    assert bouncing.take(raw, at=LATER) == Outcome.DELAYED
    assert state_of(mail)[0] == State.SENT


def test_a_complaint_stops_what_can_be_stopped(make_mail: MakeMail, cast: Cast):
    mail = make_mail(state=State.SENT)
    raw = reports.complaint(quoted=mail.code.hex)
    assert bouncing.take(raw, at=LATER) == Outcome.COMPLAINED
    assert set(Stop.objects.values_list("recipient", "kind")) == {
        (cast.guardian.pk, kind.value) for kind in Stop.KINDS
    }


def test_an_answering_machine_is_no_report(make_mail: MakeMail):
    mail = make_mail(state=State.SENT)
    raw = reports.away(to=f"bounces+{mail.code.hex}@portal.example.org")
    assert bouncing.take(raw, at=LATER) == Outcome.NO_REPORT
    assert state_of(mail)[0] == State.SENT


def test_a_report_about_nothing_of_ours(make_mail: MakeMail):
    make_mail(state=State.SENT)
    assert bouncing.take(reports.bounce(quoted="0" * 32), at=LATER) == Outcome.NOT_OURS
    assert not Refusal.objects.exists()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(raw=st.binary(max_size=400), cut=st.integers(0, 900))
def test_whatever_arrives_is_read(cast: Cast, raw: bytes, cut: int):
    whole = reports.bounce(quoted="0" * 32)
    for each in (raw, whole[:cut] + raw, whole[cut:]):
        assert bouncing.take(each, at=LATER) in (Outcome.NO_REPORT, Outcome.NOT_OURS)


def test_the_way_back(make_mail: MakeMail, cast: Cast):
    refusing.refuse(make_mail(), "5.1.1 unknown", at=NOW)
    reader = signed_in(cast.guardian)
    page = reader.get(reverse("mailroom:choices")).content.decode()
    assert "Your mail comes back" in page
    page = reader.post(reverse("mailroom:works"), follow=True).content.decode()
    assert "Your mail comes back" not in page
    assert not Refusal.objects.exists()


def test_one_reader_does_not_see_anothers(make_mail: MakeMail, cast: Cast):
    refusing.refuse(make_mail(), "5.1.1 unknown", at=NOW)
    other: Client = signed_in(cast.co_guardian)
    assert "comes back" not in other.get(reverse("mailroom:choices")).content.decode()
    other.post(reverse("mailroom:works"))
    assert Refusal.objects.exists()


def test_the_command_reads_its_standard_input(tmp_path):
    done = subprocess.run(
        [sys.executable, "manage.py", "take_bounce"],
        input=reports.away(to="bounces@portal.example.org"),
        cwd=django_settings.BASE_DIR,
        env={"FLAGLINE_DATA": str(tmp_path), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        check=True,
    )
    assert done.stdout == b"no report\n"
