"""No more mail of a kind: one tap in the mail, or a page for each child. It holds at once, for
what is due already too.

The letters in a mail's address name its reader and its kind and are sealed with the portal's
secret, so that nobody can stop another's mail; they are few, since some mail programs overlook a
long List-Unsubscribe (RFC 8058 asks for one address that needs no sign-in).
"""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotLetters
from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils.crypto import constant_time_compare, salted_hmac

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.mailroom.models import OutgoingMail, Stop
from portal.people.models import Swimmer, User

Kind = OutgoingMail.Kind
SEAL_BYTES = 10
# For each kind the number that its letters carry; a number is never used again.
NUMBERS = {Kind.NOTES_READY: 1, Kind.WEEKLY: 2}


class Broken(ValueError):
    """The letters are not of ours, or not whole."""


def letters(reader: User, kind: str) -> str:
    """36 of them."""
    said = reader.code.bytes + bytes([NUMBERS[Kind(kind)]])
    return urlsafe_b64encode(said + _seal(said)).decode()


def read(written: str) -> tuple[UUID, Kind]:
    """Raises Broken."""
    try:
        packed = urlsafe_b64decode(written.encode())
    except (NotLetters, UnicodeEncodeError) as error:
        raise Broken(written) from error
    said, seal = packed[:17], packed[17:]
    kinds = {number: kind for kind, number in NUMBERS.items()}
    if len(said) < 17 or not constant_time_compare(seal, _seal(said)) or said[16] not in kinds:
        raise Broken(written)
    return UUID(bytes=said[:16]), kinds[said[16]]


def address(reader: User, kind: str) -> str:
    """The page in a mail's foot and in its List-Unsubscribe; empty for mail that nobody stops,
    since it is about the way in, about consent or about somebody's safety."""
    if kind not in Stop.KINDS:
        return ""
    return settings.PUBLIC_ADDRESS + reverse("mailroom:stop", args=[letters(reader, kind)])


@transaction.atomic
def stop(reader: User, kind: Kind, *, at: datetime, swimmer: Swimmer | None = None) -> None:
    _row, is_new = Stop.objects.get_or_create(
        recipient=reader, kind=kind, swimmer=swimmer, defaults={"since": at}
    )
    if is_new:
        note(Entry.Action.CHANGED, reader, at=at, by=reader, mail=kind, wanted=False)


@transaction.atomic
def go_on(reader: User, kind: Kind, *, at: datetime, swimmer: Swimmer | None = None) -> None:
    gone, _rows = Stop.objects.filter(recipient=reader, kind=kind, swimmer=swimmer).delete()
    if gone:
        note(Entry.Action.CHANGED, reader, at=at, by=reader, mail=kind, wanted=True)


def stopped(readers: Collection[User], kind: Kind) -> set[tuple[int, int | None]]:
    """Pairs of a reader's id and a swimmer's, None for all of them. One query."""
    rows = Stop.objects.filter(recipient__in=readers, kind=kind)
    return set(rows.values_list("recipient_id", "swimmer_id"))


def wants(reader: User, kind: Kind, *, about: Collection[int]) -> bool:
    """Of every swimmer of these ids. One query."""
    gone = stopped([reader], kind)
    return not any((reader.pk, swimmer) in gone for swimmer in (None, *about))


def _seal(said: bytes) -> bytes:
    return salted_hmac("portal.mailroom.stopping", said, algorithm="sha256").digest()[:SEAL_BYTES]
