"""Reports as mail servers write them, in the forms of RFC 3464 and RFC 5965."""

from __future__ import annotations

BOUNCE = """\
From: MAILER-DAEMON@relay.example.net
To: {to}
Subject: Undelivered Mail Returned to Sender
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="part"

--part
Content-Type: text/plain

It could not be delivered.

--part
Content-Type: message/delivery-status

Reporting-MTA: dns; relay.example.net

Final-Recipient: rfc822; ada.falk@example.org
Action: {action}
Status: {status}
Diagnostic-Code: smtp; 550 <Ada.Falk@example.org> no such mailbox

--part
Content-Type: text/rfc822-headers

Message-ID: <{quoted}@portal.example.org>
Subject: Ines: notes from Thursday are ready

--part--
"""

COMPLAINT = """\
From: feedback@relay.example.net
To: {to}
Subject: complaint
MIME-Version: 1.0
Content-Type: multipart/report; report-type=feedback-report; boundary="part"

--part
Content-Type: text/plain

Somebody called this unwanted.

--part
Content-Type: message/feedback-report

Feedback-Type: abuse
Version: 1

--part
Content-Type: message/rfc822

Message-ID: <{quoted}@portal.example.org>
Subject: Ines: notes from Thursday are ready

Good: long and still.

--part--
"""

AWAY = """\
From: ada.falk@example.org
To: {to}
Subject: I am away
Auto-Submitted: auto-replied
Content-Type: text/plain

Back on Monday.
"""


def bounce(*, to: str = "notes@portal.example.org", quoted: str = "", **told: str) -> bytes:
    words = {"action": "failed", "status": "5.1.1", **told}
    return BOUNCE.format(to=to, quoted=quoted, **words).encode()


def complaint(*, to: str = "notes@portal.example.org", quoted: str = "") -> bytes:
    return COMPLAINT.format(to=to, quoted=quoted).encode()


def away(*, to: str) -> bytes:
    return AWAY.format(to=to).encode()
