"""What of a child's items stands otherwise since the last mail, and what nobody has looked at:
sentences for the family, from what was published."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import ItemSummary
from portal.items.recurrence import OPEN, UNSEEN_AFTER, State
from portal.people.models import Swimmer
from portal.review.models import Review

MOST_UNSEEN = 3


@dataclass
class Changes:
    news: list[str] = field(default_factory=list)
    unseen: list[str] = field(default_factory=list)


def changes(
    children: Collection[Swimmer], reviews: Iterable[Review], *, on: date
) -> dict[int, Changes]:
    """By the child's id, of those with `reviews`. One query.

    Only what is new, back or sorted: with a few looks each, whatever else moves is mostly chance.
    """
    sessions = defaultdict(set)
    for review in reviews:
        sessions[review.swimmer_id].add(review.session_id)
    found: dict[int, Changes] = defaultdict(Changes)
    items = ItemSummary.objects.filter(swimmer__in=children).select_related("checkpoint")
    for item in items.order_by("checkpoint__order", "pk"):
        if item.swimmer_id not in sessions:
            continue
        told = found[item.swimmer_id]
        is_fresh = item.last_session in sessions[item.swimmer_id]
        if is_fresh and (words := _news(item)) and words not in told.news:
            told.news.append(words)
        elif (words := _unseen(item, on=on)) and len(told.unseen) < MOST_UNSEEN:
            told.unseen.append(words)
    return found


def _news(item: ItemSummary) -> str:
    """Empty where nothing that is said stands otherwise since the last look."""
    name = {"name": item.checkpoint.name}
    state = State(item.state)
    if state == State.NEW and item.looks == 1:
        return _("New on the list: %(name)s.") % name
    if state == State.RETURNED and item.faulty_run == 1:
        return _("Back on the list: %(name)s. That happens, often when speed goes up.") % name
    if state == State.FIXED and item.clean_run == item.needed:
        words = ngettext(
            "Looks sorted: %(name)s. Clean the last time.",
            "Looks sorted: %(name)s. Clean the last %(count)d times.",
            item.clean_run,
        )
        return words % {**name, "count": item.clean_run}
    return ""


def _unseen(item: ItemSummary, *, on: date) -> str:
    is_open = State(item.state) in OPEN
    if not is_open or item.last_look is None or on - item.last_look <= UNSEEN_AFTER:
        return ""
    return _("%(name)s: nobody has looked since %(day)s, so we can’t say.") % {
        "name": item.checkpoint.name,
        "day": date_format(item.last_look, "MONTH_DAY_FORMAT"),
    }
