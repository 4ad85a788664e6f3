"""From a row to the bytes of one message to one person."""

from __future__ import annotations

import unicodedata
from email.charset import QP, Charset
from email.utils import format_datetime, formataddr, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives

from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail

# Django would send eight-bit bytes without asking the relay whether it takes them.
LETTERS = Charset("utf-8")
LETTERS.body_encoding = QP


def message(mail: OutgoingMail) -> EmailMultiAlternatives:
    """The same row gives the same Message-ID and Date, so a copy can be known as one."""
    sender = parseaddr(settings.DEFAULT_FROM_EMAIL)[1]
    domain = sender.rpartition("@")[2]
    matter = mail.kind.replace(" ", "-")
    club, of = (mail.club.name, mail.club.code.hex[:12]) if mail.club else ("Flagline", "account")
    composed = EmailMultiAlternatives(
        subject=one_line(mail.subject),
        body=mail.text,
        from_email=_comes_back_to(mail) or sender,
        to=[mail.address],
        headers={
            "From": formataddr((one_line(club), sender)),
            # Short, since Django would begin a long value on a line of its own.
            "Message-ID": f"<{mail.code.hex}@{domain}>",
            "Date": format_datetime(mail.created_at),
            # No answering machine should answer, and no club name stands in the List-Id:
            # one letter beyond ASCII would have the whole value encoded, address and all.
            "Auto-Submitted": "auto-generated",
            "List-Id": f"<{matter}.{of}.{domain}>",
            **_ways_out(mail),
        },
    )
    composed.encoding = LETTERS
    if mail.html:
        composed.attach_alternative(mail.html, "text/html")
    return composed


def _comes_back_to(mail: OutgoingMail) -> str:
    """An envelope address of this mail's own, so that what comes back names its row; empty if
    nobody reads what comes back."""
    name, _, domain = settings.BOUNCES_TO.rpartition("@")
    return f"{name}+{mail.code.hex}@{domain}" if domain else ""


def _ways_out(mail: OutgoingMail) -> dict[str, str]:
    """RFC 2369, and the one click of RFC 8058, which asks for https."""
    address = stopping.address(mail.recipient, mail.kind)
    if not address:
        return {}
    one_click = {"List-Unsubscribe-Post": "List-Unsubscribe=One-Click"}
    return {"List-Unsubscribe": f"<{address}>", **(one_click if settings.IS_SECURE else {})}


def one_line(words: str) -> str:
    """Without line breaks and other unprintable characters, which could begin a header."""
    printable = (" " if unicodedata.category(sign)[0] in "CZ" else sign for sign in words)
    return " ".join("".join(printable).split())


def masked(address: str) -> str:
    """For logs and for what people who run the portal read."""
    name, _, domain = address.rpartition("@")
    return f"{name[:1]}***@{domain}"
