"""What comes back to the mailroom: mail that could not be delivered, and complaints.

Reports are read as RFC 3464 (delivery) and RFC 5965 (complaints) lay them down. Whoever can write
to the address could write a report, so none is believed that does not name a mail of ours by its
own letters, of which nobody but its reader's mail server learns.
"""

from __future__ import annotations

import re
from datetime import datetime
from email import message_from_bytes, policy
from email.message import EmailMessage, Message
from enum import StrEnum

from django.utils.translation import gettext as _

from portal.mailroom import refusing, stopping
from portal.mailroom.composing import masked, one_line
from portal.mailroom.models import OutgoingMail, Stop

LETTERS = re.compile(r"\b([0-9a-f]{32})@", re.IGNORECASE)
MOST_BYTES = 1024 * 1024
LONGEST = 300


class Outcome(StrEnum):
    BOUNCED = "bounced"
    DELAYED = "delayed"
    COMPLAINED = "complained"
    NO_REPORT = "no report"
    NOT_OURS = "not ours"


def take(raw: bytes, *, at: datetime) -> Outcome:
    """Read one message. Whatever is no report, such as somebody's answering machine, changes
    nothing."""
    message = message_from_bytes(raw[:MOST_BYTES], policy=policy.default)
    kind = str(message.get_param("report-type") or "").lower()
    if message.get_content_type() != "multipart/report" or kind not in (
        "delivery-status",
        "feedback-report",
    ):
        return Outcome.NO_REPORT
    mail = _mail(message)
    if mail is None:
        return Outcome.NOT_OURS
    if kind == "feedback-report":
        for each in Stop.KINDS:
            stopping.stop(mail.recipient, each, at=at)
        return Outcome.COMPLAINED
    return _bounce(mail, _status(message), at=at)


def _bounce(mail: OutgoingMail, told: dict[str, str], *, at: datetime) -> Outcome:
    status = told.get("status", "")
    if told.get("action", "").lower() != "failed" or not status.startswith("5."):
        return Outcome.DELAYED
    diagnosis = told.get("diagnostic-code", "").rpartition(";")[2]
    said = one_line(f"{status} {diagnosis}")[:LONGEST].strip()
    said = re.sub(re.escape(mail.address), masked(mail.address), said, flags=re.IGNORECASE)
    ended = OutgoingMail.objects.filter(
        pk=mail.pk, state__in=[OutgoingMail.State.SENT, OutgoingMail.State.UNKNOWN]
    )
    ended.update(
        state=OutgoingMail.State.FAILED, last_error=_("It came back: %(said)s") % {"said": said}
    )
    if refusing.FOR_GOOD.search(status):
        refusing.refuse(mail, said, at=at)
    return Outcome.BOUNCED


def _mail(message: EmailMessage) -> OutgoingMail | None:
    """By the letters in the address it came back to, or in the Message-ID of what it quotes."""
    heads = [str(message.get(name, "")) for name in ("To", "Delivered-To", "X-Original-To")]
    for part in message.walk():
        if part.get_content_type() in ("text/rfc822-headers", "message/rfc822"):
            heads.append(part.as_string())
    codes = [found for head in heads for found in LETTERS.findall(head)]
    return OutgoingMail.objects.select_related("recipient").filter(code__in=codes[:20]).first()


def _status(message: EmailMessage) -> dict[str, str]:
    """The fields about the recipient, in small letters. A report has one block about the
    message and one for each recipient; ours have one recipient."""
    for part in message.walk():
        if part.get_content_type() == "message/delivery-status":
            blocks = part.get_payload()
            told: dict[str, str] = {}
            for block in blocks if isinstance(blocks, list) else []:
                if isinstance(block, Message):
                    told |= {name.lower(): str(value) for name, value in block.items()}
            return told
    return {}
