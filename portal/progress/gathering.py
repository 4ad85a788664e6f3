"""What was published of swimmers, in a fixed number of queries however many they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

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


@dataclass(frozen=True)
class History:
    """One swimmer's published reviews, oldest first, and the items in order of need."""

    swimmer: Swimmer
    reviews: list[Review]
    columns: list[Column]
    """One a review, in the same order."""
    items: list[Item]

    @property
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
    found: dict[int, list[Review]] = defaultdict(list)
    for review in reviews.filter(swimmer__in=swimmers).select_related("session__squad"):
        found[review.swimmer_id].append(review)
    looks = _Looks.at(swimmers)
    return [_history(swimmer, found[swimmer.pk], looks) for swimmer in swimmers]


@dataclass(frozen=True)
class _Looks:
    """Every observation by its swimmer, with the names of what is observed by its slug."""

    seen: dict[int, list[Seen]]
    names: dict[str, str]

    @classmethod
    def at(cls, swimmers: Collection[Swimmer]) -> _Looks:
        seen: dict[int, list[Seen]] = defaultdict(list)
        names: dict[str, str] = {}
        rows = Observation.objects.filter(swimmer__in=swimmers).order_by("date", "id")
        rows = rows.select_related("checkpoint", "fault")
        for row in rows.only(
            "swimmer_id",
            "session_id",
            "stroke",
            "verdict",
            "checkpoint__slug",
            "checkpoint__name",
            "fault__slug",
            "fault__name",
        ):
            fault = row.fault.slug if row.fault else ""
            names |= {row.checkpoint.slug: row.checkpoint.name}
            names |= {fault: row.fault.name} if row.fault else {}
            seen[row.swimmer_id].append(
                Seen(row.session_id, row.stroke, row.checkpoint.slug, fault, Sign(row.verdict))
            )
        return cls(seen, names)


def _history(swimmer: Swimmer, reviews: Iterable[Review], looks: _Looks) -> History:
    by_session = {review.session_id: review for review in reviews}
    columns = charting.columns((key, row.session.date) for key, row in by_session.items())
    seen = [look for look in looks.seen[swimmer.pk] if look.session in by_session]
    return History(
        swimmer=swimmer,
        reviews=[by_session[column.session] for column in columns],
        columns=columns,
        items=[
            Item(row, looks.names[row.fault or row.checkpoint])
            for row in charting.rows(seen, columns)
        ],
    )


def squads(found: Iterable[Squad], *, on: date) -> list[tuple[Squad, list[History]]]:
    """Each squad with its swimmers of that day by name. Three queries beside the squads'."""
    listed = list(found)
    places = SquadPlace.objects.on(on).filter(squad__in=listed).select_related("swimmer")
    swimmers = {place.swimmer_id: place.swimmer for place in places}
    told = {
        each.swimmer.pk: each for each in histories(swimmers.values(), Review.objects.published())
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
