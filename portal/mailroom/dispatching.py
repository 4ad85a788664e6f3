"""From the outbox into the queue: a mail without a job to send it would wait for ever, so its
row and its job are written in one transaction."""

from __future__ import annotations

from datetime import datetime

from portal.jobs import queueing
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail


def key(mail: OutgoingMail) -> str:
    """Of its first job."""
    return f"mail:{mail.code}"


def dispatch(
    mail: OutgoingMail, /, *, at: datetime, kind: str = "mailroom.send", **payload: str
) -> Job:
    """Due at that moment. Another `kind` asks something of its own before it sends, for which
    `payload` says what."""
    again = f":{mail.resent}" if mail.resent else ""
    told = {**payload, "mail": str(mail.code)}
    return queueing.enqueue(kind, key=f"{key(mail)}{again}", payload=told, at=at)
