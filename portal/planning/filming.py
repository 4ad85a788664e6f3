"""Who should swim before the camera next, and seen from where: what nobody has seen lately."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import Max
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from portal.items.models import ItemSummary
from portal.items.pressing import points
from portal.items.recurrence import UNSEEN_AFTER, State
from portal.people.models import Swimmer
from portal.poolside import lining
from portal.poolside.models import Turn
from portal.recordings import listing
from portal.recordings.models import Session, View
from portal.review.models import Review


@dataclass(frozen=True)
class Wish:
    """One swimmer who may be filmed."""

    swimmer: Swimmer
    newest: date | None
    """Their last published review."""
    view: str
    """From where the most pressing of the items nobody has seen lately shows; may be empty."""
    unseen: list[str]
    """Those items by name, the most pressing first."""
    on: date
    is_listed: bool

    @property
    def view_word(self) -> str:
        return str(View(self.view).label) if self.view else ""

    @property
    def is_due(self) -> bool:
        """Never reviewed, not for 42 days, or with an item that nobody has seen for so long."""
        return self.newest is None or self.on - self.newest > UNSEEN_AFTER or bool(self.unseen)

    @property
    def why(self) -> str:
        if self.newest is None:
            return _("no review yet")
        day = {"day": date_format(self.newest, "j M")}
        if self.unseen:
            return _("last review %(day)s; not seen lately: ") % day + ", ".join(self.unseen)
        return _("last review %(day)s") % day


def wishes(session: Session) -> list[Wish]:
    """The longest not reviewed first; those of one day by their most pressing item. Four
    queries."""
    swimmers = listing.may_be_filmed(session)
    newest = dict(
        Review.objects.published()
        .filter(swimmer__in=swimmers)
        .values_list("swimmer")
        .annotate(newest=Max("session__date"))
    )
    items = _unseen(swimmers, on=session.date)
    listed = set(Turn.objects.filter(session=session).values_list("swimmer", flat=True))
    found = [
        Wish(
            swimmer=swimmer,
            newest=newest.get(swimmer.pk),
            view=_view(items[swimmer.pk]),
            unseen=[item.fault.name for item in items[swimmer.pk] if item.fault],
            on=session.date,
            is_listed=swimmer.pk in listed,
        )
        for swimmer in swimmers
    ]
    first = {swimmer.pk: -sum(map(_need, items[swimmer.pk][:1])) for swimmer in swimmers}
    return sorted(
        found,
        key=lambda wish: (
            wish.newest or date.min,
            first[wish.swimmer.pk],
            wish.swimmer.name,
            wish.swimmer.pk,
        ),
    )


@transaction.atomic
def put(session: Session, chosen: Collection[Wish]) -> int:
    """On the film list, each with the view that is wished for. How many came on it."""
    count = lining.put(session, [wish.swimmer for wish in chosen])
    for wish in chosen:
        Turn.objects.filter(session=session, swimmer=wish.swimmer, view="").update(view=wish.view)
    return count


def _unseen(swimmers: Collection[Swimmer], *, on: date) -> dict[int, list[ItemSummary]]:
    """Open items without a look for 42 days, the most pressing first."""
    found: dict[int, list[ItemSummary]] = defaultdict(list)
    items = ItemSummary.objects.still_open().filter(
        swimmer__in=swimmers, last_look__lt=on - UNSEEN_AFTER, fault__isnull=False
    )
    for item in sorted(items.select_related("fault"), key=lambda each: (-_need(each), each.pk)):
        found[item.swimmer_id].append(item)
    return found


def _need(item: ItemSummary) -> int:
    return points(State(item.state), is_not_legal=item.was_not_legal)


def _view(items: Collection[ItemSummary]) -> str:
    views = (view for item in items if item.fault for view in item.fault.views.split())
    return next((view for view in views if view in View), "")
