"""Mail that will not leave, for a reason: taken back, stopped, or to an address that refuses."""

from __future__ import annotations

from django.db.models import QuerySet

from portal.mailroom.models import OutgoingMail


def skip(mails: QuerySet[OutgoingMail], *, why: str, **changes: object) -> int:
    """Those that are due; how many were. What is on its way or has an end is left alone."""
    due = mails.filter(state=OutgoingMail.State.DUE)
    return due.update(state=OutgoingMail.State.SKIPPED, last_error=why, **changes)
