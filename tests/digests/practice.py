"""Practices that are reviewed from the deck, published through the product's own verb."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any

from portal.items.models import Verdict
from portal.mailroom.models import OutgoingMail
from portal.people.models import Guardianship, Swimmer
from portal.recordings.models import Session
from portal.review import publishing
from portal.review.models import Review
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.notes import staging

# Sunday of 2026-W47 at six in London; the cast's practice is on the Thursday before.
DUE = datetime(2026, 11, 22, 18, 0, tzinfo=UTC)

PRAISE = {"words": "Heels right up, every kick."}


def hold(cast: Cast, day: date) -> Session:
    return Session.objects.get_or_create(
        squad=cast.squad,
        date=day,
        defaults={
            "pool": cast.pool,
            "course": cast.pool.course,
            "created_by": cast.coach,
            "created_at": NOW,
        },
    )[0]


def correction(words: str, **fields: Any) -> dict[str, Any]:
    return {"verdict": Verdict.WORK_ON, "words": words, "fault": staging.fault(), **fields}


def warning(words: str) -> dict[str, Any]:
    fault = staging.fault_with_rule()
    return {"verdict": Verdict.NOT_LEGAL, "words": words, "fault": fault}


def publish(
    cast: Cast,
    *said: dict[str, Any],
    of: Swimmer | None = None,
    on: date = DAY,
    at: datetime = NOW,
    focus: int | None = None,
) -> Review:
    """A published review; `focus` is the place of its focus in `said`."""
    review = Review.objects.create(session=hold(cast, on), swimmer=of or cast.swimmer)
    comments = [staging.comment(review, None, **fields) for fields in said or [PRAISE]]
    if focus is not None:
        review.focus = comments[focus]
        review.save(update_fields=["focus"])
    publishing.publish(review, by=cast.coach, at=at)
    return review


def add_sibling(cast: Cast, name: str = "Jonas Falk") -> Swimmer:
    """Another child of Ines's first guardian, and of nobody else."""
    swimmer = make_swimmer(cast.club, cast.squad, name, born=date(2015, 3, 1))
    Guardianship.objects.create(guardian=cast.guardian, swimmer=swimmer, starts=LONG_AGO)
    return swimmer


def weekly(mails: Sequence[OutgoingMail]) -> dict[str, OutgoingMail]:
    """By first name of the reader."""
    assert len({mail.recipient_id for mail in mails}) == len(mails)
    return {mail.recipient.get_short_name(): mail for mail in mails}


def stored() -> list[OutgoingMail]:
    return list(OutgoingMail.objects.filter(kind=OutgoingMail.Kind.WEEKLY).order_by("pk"))
