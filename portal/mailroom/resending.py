"""Sending once more by hand what failed, or what may have arrived or not."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.jobs.models import Job
from portal.mailroom import dispatching
from portal.mailroom.models import OutgoingMail
from portal.people.models import User

State = OutgoingMail.State


class Refused(Exception):
    """Nothing was sent; the message says why."""


@transaction.atomic
def resend(mail: OutgoingMail, *, by: User, at: datetime) -> None:
    """Through a job of the same kind, which asks again whether its reader may be told."""
    if mail.kind == OutgoingMail.Kind.WEEKLY and _is_overtaken(mail):
        raise Refused(_("A later weekly mail told it. Nothing was sent."))
    first = Job.objects.filter(key=dispatching.key(mail)).first()
    if first is None:
        # Nobody would ask whether its reader may still be told.
        raise Refused(_("It is too old to be sent once more. Nothing was sent."))
    ended = OutgoingMail.objects.filter(pk=mail.pk, state__in=[State.FAILED, State.UNKNOWN])
    if not ended.update(state=State.DUE, last_error="", resent=F("resent") + 1):
        raise Refused(_("It is on its way, or was sent already. Nothing was sent."))
    mail.refresh_from_db()
    dispatching.dispatch(mail, at=at, kind=first.kind, **first.payload)
    note(Entry.Action.CHANGED, mail, at=at, by=by, club=mail.club, resent=mail.resent)


def _is_overtaken(mail: OutgoingMail) -> bool:
    later = OutgoingMail.objects.filter(
        kind=mail.kind, recipient=mail.recipient, club=mail.club, created_at__gt=mail.created_at
    )
    return later.exists()
