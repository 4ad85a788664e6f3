"""Addresses to which mail comes back, and the way back for their owners."""

from __future__ import annotations

import re
from datetime import datetime

from portal.mailroom.models import OutgoingMail, Refusal

# RFC 3463: 5.1.x is about the address, 5.2.1 about a mailbox that is switched off.
FOR_GOOD = re.compile(r"\b5\.(1\.\d{1,3}|2\.1)\b")

# Whoever cannot be reached may still try to come in, and must hear of changes of the way in.
ALWAYS = (
    OutgoingMail.Kind.CODE,
    OutgoingMail.Kind.SECURITY,
    OutgoingMail.Kind.SAFEGUARDING,
    OutgoingMail.Kind.TRIAL,
)


def refuse(mail: OutgoingMail, said: str, *, at: datetime) -> None:
    """Nothing more goes to the address of `mail`; `said` does not hold it."""
    Refusal.objects.get_or_create(
        address=mail.address.lower(), defaults={"since": at, "said": said}
    )


def refusal_of(address: str) -> Refusal | None:
    return Refusal.objects.filter(address=address.lower()).first()


def try_again(address: str) -> None:
    """Its owner says that it works, or a mail has gone there."""
    Refusal.objects.filter(address=address.lower()).delete()


def keeps_from(mail: OutgoingMail) -> Refusal | None:
    return None if mail.kind in ALWAYS else refusal_of(mail.address)
