"""Finding a swimmer, a squad or a session among those that somebody works with."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import TypeVar

from django.db.models import Exists, OuterRef, Q, QuerySet

from portal.clubhouse import dating
from portal.clubhouse.folding import begins
from portal.people.access import Actor
from portal.people.models import Squad, SquadPlace, Swimmer
from portal.people.reaching import squads_of
from portal.recordings.models import Session

LONGEST = 80
MOST = 20
# Themes are compared here and not in the database; so many practices are some years of a club.
NEWEST = 2_000

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class Found:
    swimmers: list[Swimmer]
    squads: list[Squad]
    sessions: list[Session]
    has_more: bool = False
    """More than is shown."""

    def __bool__(self) -> bool:
        return bool(self.swimmers or self.squads or self.sessions)


def search(typed: str, *, by: Actor) -> Found:
    """Three queries, whatever is typed and however much there is."""
    swimmers, more_swimmers = _some(each for each in _swimmers(by) if begins(typed, each.name))
    squads, more_squads = _some(each for each in squads_of(by) if begins(typed, each.name))
    sessions, more_sessions = _some(_sessions(typed, by))
    return Found(swimmers, squads, sessions, more_swimmers or more_squads or more_sessions)


def _some(things: Iterable[Thing]) -> tuple[list[Thing], bool]:
    found = list(islice(things, MOST + 1))
    return found[:MOST], len(found) > MOST


def _swimmers(actor: Actor) -> QuerySet[Swimmer]:
    """Who is in one of their squads today; a head coach finds the others of the club as well, for
    whom `is_here` is false."""
    today = actor.today
    places = SquadPlace.objects.on(today).filter(swimmer=OuterRef("pk"))
    own = Q(Exists(places.filter(squad__in=actor.coaches | actor.assists)))
    has_not_left = Q(left_on=None) | Q(left_on__gt=today)
    return (
        Swimmer.objects.filter(own & has_not_left | Q(club__in=actor.heads))
        .annotate(is_here=Exists(places.filter(actor.staff_filter("squad"))))
        .select_related("club")
    )


def _sessions(typed: str, actor: Actor) -> Iterator[Session]:
    """Of the day typed; if it is none, those whose theme has the words. The newest first."""
    sessions = Session.objects.visible_to(actor).select_related("squad", "pool")
    day = dating.read(typed)
    if day is None:
        themed = sessions.exclude(theme="")[:NEWEST]
        return (each for each in themed if begins(typed, each.theme))
    parts = {"month": day.month, "day": day.day, "year": day.year}
    asked = {f"date__{part}": value for part, value in parts.items() if value is not None}
    return sessions.filter(**asked)[: MOST + 1].iterator()
