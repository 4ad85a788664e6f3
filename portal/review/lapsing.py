"""Who of a squad has had nothing lately: no review that went out, for longer than is usual."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import TypeVar

from django.db.models import Max, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.people import consenting
from portal.people.models import Consent, Squad, SquadPlace, Swimmer
from portal.review.models import Review

LONG = timedelta(days=28)
AT_LEAST = timedelta(days=7)
"""In a squad that was reviewed yesterday, nobody is forgotten after two days."""

Somebody = TypeVar("Somebody")


@dataclass(frozen=True)
class Lapse:
    swimmer: Swimmer
    since: timedelta | None
    """None: nothing has ever gone out."""
    hint: str

    @property
    def words(self) -> str:
        if self.since is None:
            return _("never")
        text = ngettext("%(count)s day", "%(count)s days", self.since.days)
        return text % {"count": self.since.days}


def lapsed(last: Mapping[Somebody, date | None], *, on: date) -> dict[Somebody, timedelta | None]:
    """Pure. More than 28 days, or more than twice the squad's median; those who never had one
    first, then the longest."""
    since = {who: on - day for who, day in last.items() if day}
    usual = median(each.days for each in since.values()) if since else LONG.days
    longest = min(LONG, max(timedelta(days=2 * usual), AT_LEAST))
    never: dict[Somebody, timedelta | None] = {who: None for who, day in last.items() if not day}
    late = sorted(since.items(), key=lambda pair: pair[1], reverse=True)
    return never | {who: days for who, days in late if days > longest}


def of_squad(squad: Squad, *, on: date, filmed: Collection[int]) -> list[Lapse]:
    """Those of today's squad; `filmed` are ids of swimmers whose film waits just now. At most three
    queries."""
    places = SquadPlace.objects.filter(squad=squad).on(on)
    went_out = Q(reviews__state=Review.State.PUBLISHED)
    swimmers = Swimmer.objects.filter(pk__in=places.values("swimmer")).annotate(
        last_out=Max("reviews__session__date", filter=went_out)
    )
    found = lapsed({one: one.last_out for one in swimmers}, on=on)
    may_be_filmed = consenting.allowed(Consent.Purpose.FILM, of=list(found), on=on) if found else ()
    return [
        Lapse(one, since, _hint(one, filmed=filmed, may_be_filmed=may_be_filmed))
        for one, since in found.items()
    ]


def _hint(swimmer: Swimmer, *, filmed: Collection[int], may_be_filmed: Collection[int]) -> str:
    if swimmer.pk in filmed:
        return _("filmed, notes not out")
    if swimmer.pk not in may_be_filmed:
        return _("no consent to film: write what you see from the deck")
    return _("not on the last film")
