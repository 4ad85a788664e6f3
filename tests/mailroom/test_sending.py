"""Against a real SMTP server: what arrives, and what must never arrive twice."""

from __future__ import annotations

import json
import threading
import traceback
from datetime import timedelta
from email.utils import parsedate_to_datetime

import pytest
from django.db import connection

from portal.kit.journal import JsonLines
from portal.mailroom import relaying, sending
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club
from tests.cast import NOW
from tests.mailroom.conftest import MakeMail
from tests.mailroom.relay import Relay, free_port

pytestmark = pytest.mark.django_db(transaction=True)
State = OutgoingMail.State
LATER = NOW + timedelta(minutes=5)


def state_of(mail: OutgoingMail) -> str:
    mail.refresh_from_db()
    return mail.state


def test_it_works(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    sending.send(mail, at=LATER)
    assert state_of(mail) == State.SENT
    assert mail.sent_at == LATER
    assert [envelope.rcpt_tos for envelope in server.taken] == [["ada.falk@example.org"]]


def test_headers(server: Relay, make_mail: MakeMail, settings):
    settings.DEFAULT_FROM_EMAIL = "notes@mail.otterbrook.example.org"
    mail = make_mail()
    sending.send(mail, at=LATER)
    message = server.message()
    assert message["To"] == "ada.falk@example.org"
    assert message["Cc"] is None
    assert message["From"] == "Otterbrook <notes@mail.otterbrook.example.org>"
    assert server.taken[0].mail_from == "notes@mail.otterbrook.example.org"
    assert message["Subject"] == "Ines: notes from Thursday are ready"
    domain = "mail.otterbrook.example.org"
    assert message["Message-ID"] == f"<{mail.code.hex}@{domain}>"
    assert mail.club is not None
    assert message["List-Id"] == f"<notes-ready.{mail.club.code.hex[:12]}.{domain}>"
    assert message["Auto-Submitted"] == "auto-generated"
    assert parsedate_to_datetime(message["Date"]) == NOW


def test_parts_are_text_and_html_in_seven_bits(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    sending.send(mail, at=LATER)
    message = server.message()
    assert message.get_content_type() == "multipart/alternative"
    text, html = message.iter_parts()
    assert (text.get_content_type(), html.get_content_type()) == ("text/plain", "text/html")
    for part, said in [(text, mail.text), (html, mail.html + "\n")]:
        assert part["Content-Transfer-Encoding"] == "quoted-printable"
        assert part.get_content_charset() == "utf-8"
        assert part.get_content().replace("\r\n", "\n").rstrip() == said.rstrip()
    content = server.taken[0].original_content
    assert content is not None
    assert content.isascii()
    assert all(len(line) <= 998 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")


def test_a_line_with_one_dot_ends_nothing(server: Relay, make_mail: MakeMail):
    mail = make_mail(text="before\n.\n..\nafter\n", html="")
    sending.send(mail, at=LATER)
    assert server.message().get_content().splitlines() == ["before", ".", "..", "after"]


def test_a_name_cannot_write_headers(server: Relay, make_mail: MakeMail):
    mail = make_mail(subject="Ines\r\nBcc: all@example.org")
    assert mail.club is not None
    Club.objects.filter(pk=mail.club.pk).update(name="Otter\nBcc: all@example.org")
    mail.club.refresh_from_db()
    sending.send(mail, at=LATER)
    message = server.message()
    assert message["Bcc"] is None
    assert message["Subject"] == "Ines Bcc: all@example.org"
    assert server.taken[0].rcpt_tos == ["ada.falk@example.org"]


def test_a_club_with_an_accent_keeps_its_list(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    assert mail.club is not None
    Club.objects.filter(pk=mail.club.pk).update(name="Élan Otterbrook")
    mail.club.refresh_from_db()
    sending.send(mail, at=LATER)
    message = server.message()
    assert message["From"].addresses[0].display_name == "Élan Otterbrook"
    assert mail.club is not None
    assert message["List-Id"].startswith("<notes-ready.")


def test_sent_is_never_sent_again(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    sending.send(mail, at=LATER)
    sending.send(mail, at=LATER)
    assert len(server.taken) == 1


def test_two_at_once_send_one(server: Relay, make_mail: MakeMail):
    mail = make_mail()
    start = threading.Barrier(2, timeout=10)

    def send_now() -> None:
        start.wait()
        sending.send(OutgoingMail.objects.get(pk=mail.pk), at=LATER)
        connection.close()

    threads = [threading.Thread(target=send_now) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(server.taken) == 1
    assert state_of(mail) == State.SENT


def test_an_unknown_address_is_refused_for_good(server: Relay, make_mail: MakeMail):
    server.at_recipient = "550 5.1.1 <{address}> is nobody here"
    mail = make_mail()
    with pytest.raises(sending.Undeliverable, match=r"a\*\*\*@example.org: 550"):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.FAILED
    assert mail.last_error == "550 5.1.1 <a***@example.org> is nobody here"
    server.at_recipient = ""
    sending.send(mail, at=LATER)
    assert server.taken == []


def test_an_unwanted_content_is_refused_for_good(server: Relay, make_mail: MakeMail):
    server.after_dot = "554 5.6.0 not wanted"
    mail = make_mail()
    with pytest.raises(sending.Undeliverable):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.FAILED


@pytest.mark.parametrize(
    "refusal", [{"at_recipient": "451 try later"}, {"after_dot": "452 disk is full"}]
)
def test_not_now_is_tried_again(server: Relay, make_mail: MakeMail, refusal: dict[str, str]):
    vars(server).update(refusal)
    mail = make_mail()
    with pytest.raises(sending.NotSent, match=r"45[12] "):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.DUE
    server.at_recipient = server.after_dot = ""
    sending.send(mail, at=LATER)
    assert state_of(mail) == State.SENT
    assert len(server.taken) == 1


def test_no_server_is_tried_again(server: Relay, make_mail: MakeMail, settings):
    settings.EMAIL_PORT = free_port()
    mail = make_mail()
    with pytest.raises(sending.NotSent, match="refused"):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.DUE


def test_a_line_lost_after_the_dot_is_unknown_and_stays_so(server: Relay, make_mail: MakeMail):
    server.hangs_up = True
    mail = make_mail()
    with pytest.raises(sending.Undeliverable, match="may have arrived"):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.UNKNOWN
    server.hangs_up = False
    sending.send(mail, at=LATER)
    assert len(server.taken) == 1


def test_silence_after_the_dot_is_unknown(server: Relay, make_mail: MakeMail, monkeypatch):
    monkeypatch.setattr(relaying, "SECONDS_AFTER_DOT", 0.05)
    server.stalls = 0.5
    mail = make_mail()
    with pytest.raises(sending.Undeliverable):
        sending.send(mail, at=LATER)
    assert state_of(mail) == State.UNKNOWN
    assert len(server.taken) == 1


def test_neither_log_nor_trace_holds_the_address(server: Relay, make_mail: MakeMail, caplog):
    server.at_recipient = "550 <{address}> is nobody here"
    mail = make_mail()
    with caplog.at_level("INFO", "portal"), pytest.raises(sending.Undeliverable) as caught:
        sending.send(mail, at=LATER)
    ours = [record for record in caplog.records if record.name.startswith("portal.")]
    [line] = [JsonLines().format(record) for record in ours]
    assert json.loads(line).items() >= {"mail": str(mail.code), "state": "failed"}.items()
    assert "example.org" not in line
    assert mail.address not in "".join(traceback.format_exception(caught.value))
