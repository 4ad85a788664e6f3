"""Which clubs' weekly mails are due, and writing them. May be called at any time and as often
as one likes: a mail that has been written is not written again."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import datetime

from portal.digests import gathering, prefacing, writing
from portal.digests.gathering import Edition
from portal.digests.timing import Week
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club

log = logging.getLogger(__name__)


def due_weeks(club: Club, *, at: datetime) -> list[Week]:
    """One at most, as a week is longer than a mail may be late."""
    hour = Edition(club, Week.of(at.date())).hour
    return hour.due_weeks(at)


def plan(at: datetime) -> list[OutgoingMail]:
    """Write and enqueue whatever is due and not held. Raises like `deliver`."""
    clubs = Club.objects.order_by("pk")
    editions = [Edition(club, w) for club in clubs for w in due_weeks(club, at=at)]
    return deliver(prefacing.opened(editions), at=at)


def deliver(editions: Sequence[Edition], *, at: datetime) -> list[OutgoingMail]:
    """Raises an ExceptionGroup once everybody's has been tried: one family's mail that cannot
    be written must not keep the others from theirs."""
    return _each(editions, writing.write, at=at)


def rehearse(editions: Sequence[Edition], *, at: datetime) -> list[OutgoingMail]:
    """What `deliver` would write. Nothing of it is kept, and nobody gets anything."""
    return _each(editions, writing.rehearse, at=at)


Write = Callable[..., OutgoingMail | None]


def _each(editions: Sequence[Edition], write: Write, *, at: datetime) -> list[OutgoingMail]:
    mails, errors = [], []
    for edition in editions:
        for news in gathering.gather(edition, at=at):
            try:
                mail = write(edition, news, at=at)
            except Exception as error:  # noqa: BLE001 - the others come first, then it is raised
                extra = {"week": str(edition.week), "error": type(error).__name__}
                log.warning("no weekly mail", extra=extra)
                errors.append(error)
                continue
            if mail:
                mails.append(mail)
    if errors:
        raise ExceptionGroup(f"{len(errors)} weekly mails could not be written", errors)
    return mails
