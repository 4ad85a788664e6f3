"""What was published of swimmers, in a fixed number of queries however many they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple, Self
from uuid import UUID

from django.db.models import QuerySet

from portal.items.models import Observation
from portal.kit.signs import Sign
from portal.people.models import Squad, SquadPlace, Swimmer
from portal.progress import charting
from portal.progress.charting import Column, Row, Seen
from portal.review.models import Review
from portal.technique.models import Stroke


@dataclass(frozen=True)
class Item:
    """A row of the grid with its names. `name` is the fault's, or the checkpoint's if only
    good was seen."""

    row: Row
    name: str

    @property
    def stroke(self) -> str:
        return str(Stroke(self.row.stroke).label)


class Published(NamedTuple):
    """A review that is out. Not a model: a squad's season has hundreds."""

    swimmer: int
    code: UUID
    session: int
    date: date
    squad: int
    """The session's, by its id."""


@dataclass(frozen=True)
class History:
    """One swimmer's published reviews, oldest first, and the items in order of need."""

    swimmer: Swimmer
    reviews: list[Published]
    columns: list[Column]
    """One a review, in the same order."""
    items: list[Item]

    @cached_property
    def open_items(self) -> list[Item]:
        return [item for item in self.items if item.row.is_open]

    @property
    def newest(self) -> date | None:
        return self.columns[-1].date if self.columns else None


def history(swimmer: Swimmer, reviews: QuerySet[Review]) -> History:
    """Two queries."""
    return histories([swimmer], reviews)[0]


def histories(swimmers: Collection[Swimmer], reviews: QuerySet[Review]) -> list[History]:
    """In the order of `swimmers`. Two queries."""
    found: dict[int, list[Published]] = defaultdict(list)
    rows = reviews.filter(swimmer__in=swimmers).values_list(
        "swimmer_id", "code", "session_id", "session__date", "session__squad_id"
    )
    for review in map(Published._make, rows):
        found[review.swimmer].append(review)
    looks = _Looks.at(swimmers)
    return [_history(swimmer, found[swimmer.pk], looks) for swimmer in swimmers]


COLUMNS = (
    "swimmer_id",
    "session_id",
    "stroke",
    "verdict",
    "checkpoint__slug",
    "checkpoint__name",
    "fault__slug",
    "fault__name",
)


@dataclass(frozen=True)
class _Looks:
    """Every observation by its swimmer, and the names for slugs of checkpoint and fault."""

    seen: dict[int, list[Seen]]
    names: dict[tuple[str, str], str]

    @classmethod
    def at(cls, swimmers: Collection[Swimmer]) -> Self:
        seen: dict[int, list[Seen]] = defaultdict(list)
        names: dict[tuple[str, str], str] = {}
        rows = Observation.objects.filter(swimmer__in=swimmers).order_by("date", "id")
        # As tuples: a squad's season has thousands, and each would be three models.
        for (
            swimmer,
            session,
            stroke,
            verdict,
            point,
            point_name,
            fault,
            fault_name,
        ) in rows.values_list(*COLUMNS):
            names[point, fault or ""] = fault_name or point_name
            seen[swimmer].append(Seen(session, stroke, point, fault or "", Sign(verdict)))
        return cls(seen, names)


def _history(swimmer: Swimmer, reviews: Iterable[Published], looks: _Looks) -> History:
    by_session = {review.session: review for review in reviews}
    columns = charting.columns((row.session, row.date) for row in by_session.values())
    seen = [look for look in looks.seen[swimmer.pk] if look.session in by_session]
    return History(
        swimmer=swimmer,
        reviews=[by_session[column.session] for column in columns],
        columns=columns,
        items=[
            Item(row, looks.names[row.checkpoint, row.fault])
            for row in charting.rows(seen, columns)
        ],
    )


def squads(found: Iterable[Squad], *, on: date) -> list[tuple[Squad, list[History]]]:
    """Each squad with its swimmers of that day by name. Three queries beside the squads'."""
    listed = list(found)
    places = SquadPlace.objects.on(on).filter(squad__in=listed).select_related("swimmer")
    swimmers = {place.swimmer_id: place.swimmer for place in places}
    told = {
        each.swimmer.pk: each
        for each in histories(list(swimmers.values()), Review.objects.published())
    }
    return [
        (
            squad,
            sorted(
                (told[place.swimmer_id] for place in places if place.squad_id == squad.pk),
                key=lambda each: (each.swimmer.name, each.swimmer.pk),
            ),
        )
        for squad in listed
    ]
