"""Holding back a weekly mail that has not left and may no longer say what it says.

It stays in the outbox as skipped, but gives up its key: the next planning writes it anew with
what may still be said, while the week lasts, and otherwise it goes into the next week's.
"""

from __future__ import annotations

from datetime import datetime

from django.db.models import F
from django.utils.translation import gettext as _

from portal.digests.models import Delivered, Mention
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.mailroom.skipping import skip
from portal.people.models import Guardianship
from portal.review.models import Review


def still_holds(mail: OutgoingMail, *, at: datetime) -> bool:
    """Every review in it stands as published then, and its reader is today a guardian, not
    barred, of every swimmer that it names, and wants to read of each. Five queries."""
    if mail.club is None:
        return False
    day = mail.club.day(at)
    ties = Guardianship.objects.on(day).filter(guardian=mail.recipient)
    children = ties.values_list("swimmer_id", flat=True)
    told = Delivered.objects.filter(mail=mail)
    standing = told.filter(
        review__state=Review.State.PUBLISHED, publishing=F("review__publishings")
    )
    named = set(Mention.objects.filter(mail=mail).values_list("swimmer_id", flat=True))
    return (
        mail.recipient.is_active
        and stopping.wants(mail.recipient, OutgoingMail.Kind.WEEKLY, about=named)
        and standing.count() == told.count()
        and named <= set(children)
    )


def withhold(mail: OutgoingMail, *, why: str) -> bool:
    """False: it is on its way, or has an end already."""
    freed = f"{mail.key}:withheld:{mail.code.hex}"
    return bool(skip(OutgoingMail.objects.filter(pk=mail.pk), why=why, key=freed))


def overtake(mail: OutgoingMail) -> None:
    """Older mails to the same reader that never left will not leave any more: `mail` tells
    what they would have told."""
    older = OutgoingMail.objects.filter(
        kind=OutgoingMail.Kind.WEEKLY, recipient=mail.recipient, club=mail.club
    ).exclude(pk=mail.pk)
    for each in older.filter(state=OutgoingMail.State.DUE):
        withhold(each, why=_("The next weekly mail tells it."))
    unsent = older.filter(state__in=[OutgoingMail.State.FAILED, OutgoingMail.State.SKIPPED])
    Delivered.objects.filter(mail__in=unsent).delete()
