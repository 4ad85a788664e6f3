"""Who is on a session's film list, and in which order.

Several people may hold the list at once, each on a telephone: every verb looks at the rows as they
are now and does nothing twice. The order is written down to the session, where the sorting table
of a film asks for it.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from enum import StrEnum

from django.db import transaction
from django.utils.translation import gettext as _

from portal.people.models import Swimmer
from portal.poolside.models import Turn
from portal.recordings import listing
from portal.recordings.models import Session


class Refused(Exception):
    """Nothing has changed; the message says why and what to do."""


class Way(StrEnum):
    UP = "up"
    DOWN = "down"
    FIRST = "first"
    LAST = "last"


@transaction.atomic
def put(session: Session, swimmers: Collection[Swimmer]) -> int:
    """At the end of the list. How many came on it; whoever is there already stays in place."""
    may = {swimmer.pk for swimmer in listing.may_be_filmed(session)}
    for swimmer in swimmers:
        if swimmer.pk not in may:
            raise Refused(
                _("%(name)s may not be filmed. Ask the family first.") % {"name": swimmer.name}
            )
    turns = _held(session)
    here = {turn.swimmer_id for turn in turns}
    end = max((turn.place for turn in turns), default=0)
    new = [swimmer for swimmer in swimmers if swimmer.pk not in here]
    Turn.objects.bulk_create(
        (
            Turn(session=session, swimmer=swimmer, place=end + step)
            for step, swimmer in enumerate(new, start=1)
        ),
        ignore_conflicts=True,
    )
    _write_down(session)
    return len(new)


@transaction.atomic
def tick(turn: Turn, *, at: datetime) -> None:
    """Filmed. Consent is asked once more: it may have been taken back since."""
    may = {swimmer.pk for swimmer in listing.may_be_filmed(turn.session)}
    if turn.swimmer_id not in may:
        raise Refused(
            _(
                "%(name)s may not be filmed any more. If there is film already, mark it as not to"
                " be shown or throw it away."
            )
            % {"name": turn.swimmer.name}
        )
    Turn.objects.filter(pk=turn.pk, filmed_at=None).update(filmed_at=at, scratched_at=None)
    _write_down(turn.session)


@transaction.atomic
def scratch(turn: Turn, *, at: datetime) -> None:
    Turn.objects.filter(pk=turn.pk, scratched_at=None).update(scratched_at=at, filmed_at=None)
    _write_down(turn.session)


@transaction.atomic
def wait(turn: Turn) -> None:
    """Neither filmed nor scratched: back where it stood."""
    Turn.objects.filter(pk=turn.pk).update(filmed_at=None, scratched_at=None)
    _write_down(turn.session)


@transaction.atomic
def move(turn: Turn, way: Way) -> None:
    """Among those who wait."""
    waiting = [each for each in _held(turn.session) if each.is_waiting]
    now = next((place for place, each in enumerate(waiting) if each.pk == turn.pk), None)
    if now is None:
        return
    new = {Way.UP: now - 1, Way.DOWN: now + 1, Way.FIRST: 0, Way.LAST: len(waiting) - 1}[way]
    waiting.insert(min(max(new, 0), len(waiting) - 1), waiting.pop(now))
    places = sorted(each.place for each in waiting)
    for place, each in zip(places, waiting, strict=True):
        each.place = place
    Turn.objects.bulk_update(waiting, ["place"])
    _write_down(turn.session)


def _held(session: Session) -> list[Turn]:
    """In their order, and nobody else changes them until the transaction ends."""
    return list(Turn.objects.select_for_update().filter(session=session))


def _write_down(session: Session) -> None:
    stand = Turn.objects.filter(session=session, scratched_at=None)
    session.film_order = list(stand.values_list("swimmer_id", flat=True))
    session.save(update_fields=["film_order"])
