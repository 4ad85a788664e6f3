"""What was published of swimmers, in a fixed number of queries however many they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple, Self
from uuid import UUID

from django.db.models import Max, QuerySet

from portal.items import refreshing
from portal.items.models import ItemSummary
from portal.items.recurrence import (
    OPEN,
    Look,
    Said,
    Standing,
    State,
    is_not_seen_lately,
    looks,
    stand,
)
from portal.kit.signs import Sign
from portal.people.models import Squad, SquadPlace, Swimmer
from portal.progress import charting
from portal.progress.charting import Column
from portal.review.models import Review
from portal.technique.models import Checkpoint, Fault, Phase, Stroke, Wording
from portal.technique.wording import our_name

PHASES = list(Phase)


class Term(NamedTuple):
    """A fault, or a checkpoint that was only ever praised."""

    name: str
    phase: str
    order: tuple[int, int]
    """Of its checkpoint, then its own."""
    checkpoint: int


class Terms(NamedTuple):
    faults: Mapping[int, Term]
    checkpoints: Mapping[int, Term]

    @classmethod
    def of(cls, items: Iterable[refreshing.Item], *, club: int) -> Self:
        """As the club of this id calls them. Two queries."""
        known = set(items)
        faults = Fault.objects.filter(pk__in={item.fault for item in known if item.fault})
        points = Checkpoint.objects.filter(pk__in={i.point.checkpoint for i in known})
        point = "checkpoint__"
        columns = (f"{point}phase", f"{point}order", "order", f"{point}merged_into", f"{point}pk")
        of_faults = faults.values_list("pk", our_name(club, Wording.Table.FAULT), *columns)
        of_points = points.values_list(
            "pk", our_name(club, Wording.Table.CHECKPOINT), "phase", "order"
        )
        return cls(
            {
                pk: Term(name, phase, (first, order), merged or own)
                for pk, name, phase, first, order, merged, own in of_faults
            },
            {pk: Term(name, phase, (order, -1), pk) for pk, name, phase, order in of_points},
        )

    def faults_of(self, point: refreshing.Point) -> list[refreshing.Item]:
        """Of those known here."""
        return [
            refreshing.Item(point, fault)
            for fault, term in self.faults.items()
            if term.checkpoint == point.checkpoint
        ]

    def term(self, item: refreshing.Item) -> Term:
        return self.faults[item.fault] if item.fault else self.checkpoints[item.point.checkpoint]


@dataclass(frozen=True)
class Item:
    """A row of the grid: what was seen of it, and what that comes to."""

    key: refreshing.Item
    term: Term
    looks: list[Look]
    standing: Standing
    signs: tuple[Sign, ...]
    """One a column."""
    is_unseen: bool
    """Open, and nobody has looked lately."""

    @property
    def name(self) -> str:
        return self.term.name

    @property
    def slug(self) -> str:
        """For addresses: a praised checkpoint has no fault."""
        return f"{self.key.point.checkpoint}-{self.key.fault or 0}"

    @property
    def stroke(self) -> str:
        return str(Stroke(self.key.point.stroke).label)

    @property
    def phase_order(self) -> int:
        return PHASES.index(Phase(self.term.phase))

    @property
    def is_open(self) -> bool:
        return self.standing.state in OPEN

    @property
    def is_not_legal(self) -> bool:
        return self.is_open and self.standing.was_not_legal

    @property
    def unseen_since(self) -> int:
        """Columns that went by since the newest look; all of them if all looks are disputed."""
        back = (n for n, sign in enumerate(reversed(self.signs)) if sign != Sign.NOT_LOOKED_AT)
        return next(back, len(self.signs))

    @property
    def need(self) -> tuple[bool, int, str, tuple[int, int]]:
        """What asks for most comes first."""
        state = OPEN.index(self.standing.state) if self.is_open else len(OPEN)
        settled = state + (self.standing.state == State.GOOD)
        return not self.is_not_legal, settled, self.key.point.stroke, self.term.order


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
        return [item for item in self.items if item.is_open]

    @property
    def newest(self) -> date | None:
        return self.columns[-1].date if self.columns else None


def history(swimmer: Swimmer, reviews: QuerySet[Review], *, on: date) -> History:
    """Of these reviews only, and as if there were no others. Four queries."""
    return _histories([swimmer], reviews, on=on, within=True)[0]


def histories(swimmers: Collection[Swimmer], *, on: date) -> list[History]:
    """Of all that is out, in the order of `swimmers`. Four queries."""
    return _histories(swimmers, Review.objects.published(), on=on, within=False)


def _histories(
    swimmers: Collection[Swimmer], reviews: QuerySet[Review], *, on: date, within: bool
) -> list[History]:
    rows = reviews.filter(swimmer__in=swimmers).values_list(
        "swimmer_id", "code", "session_id", "session__date", "session__squad_id"
    )
    found: dict[int, list[Published]] = defaultdict(list)
    for review in map(Published._make, rows):
        found[review.swimmer].append(review)
    sessions = {each.session for reviews in found.values() for each in reviews}
    said = refreshing.said_of([each.pk for each in swimmers], sessions=sessions if within else None)
    # Whoever is looked at together is of one club.
    club = next((swimmer.club_id for swimmer in swimmers), 0)
    terms = Terms.of((item for items in said.values() for item in items), club=club)
    return [
        _history(swimmer, found[swimmer.pk], said.get(swimmer.pk, {}), terms, on=on)
        for swimmer in swimmers
    ]


def _history(
    swimmer: Swimmer,
    reviews: Iterable[Published],
    said: Mapping[refreshing.Item, list[Said]],
    terms: Terms,
    *,
    on: date,
) -> History:
    by_session = {review.session: review for review in reviews}
    columns = charting.columns((row.session, row.date) for row in by_session.values())
    items = [_item(key, words, terms.term(key), columns, on=on) for key, words in said.items()]
    return History(
        swimmer=swimmer,
        reviews=[by_session[column.session] for column in columns],
        columns=columns,
        items=sorted((item for item in items if item.looks), key=lambda item: item.need),
    )


def _item(
    key: refreshing.Item, said: list[Said], term: Term, columns: list[Column], *, on: date
) -> Item:
    found = looks(said)
    by_session = {look.session: look for look in found}
    standing = stand(found)
    last = next((look for look in reversed(found) if look.counts), None)
    is_unseen = False
    if last and standing.state in OPEN:
        newest = (last.day, last.session)
        since = sum((column.date, column.session) > newest for column in columns)
        is_unseen = is_not_seen_lately(last.day, sessions_since=since, on=on)
    return Item(
        key=key,
        term=term,
        looks=found,
        standing=standing,
        signs=tuple(charting.sign_of(by_session.get(column.session)) for column in columns),
        is_unseen=is_unseen,
    )


@dataclass(frozen=True)
class Place:
    """A swimmer in the list of a squad."""

    swimmer: Swimmer
    newest: date | None
    """The day of the newest session with a review that is out."""
    open: int
    not_legal: int


def lists(found: Iterable[Squad], *, on: date) -> list[tuple[Squad, list[Place]]]:
    """Each squad with its swimmers of that day by name. Three queries beside the squads', which
    read a row for each open item and none for each look."""
    listed = list(found)
    places = list(SquadPlace.objects.on(on).filter(squad__in=listed).select_related("swimmer"))
    swimmers = {place.swimmer_id for place in places}
    published = Review.objects.published().filter(swimmer__in=swimmers).order_by()
    newest = dict(published.values_list("swimmer").annotate(day=Max("session__date")))
    is_open: dict[int, list[bool]] = defaultdict(list)
    rows = ItemSummary.objects.still_open().filter(swimmer__in=swimmers)
    for swimmer, was_not_legal in rows.values_list("swimmer", "was_not_legal"):
        is_open[swimmer].append(was_not_legal)
    return [
        (
            squad,
            sorted(
                (
                    Place(
                        place.swimmer,
                        newest.get(place.swimmer_id),
                        len(is_open[place.swimmer_id]),
                        sum(is_open[place.swimmer_id]),
                    )
                    for place in places
                    if place.squad_id == squad.pk
                ),
                key=lambda each: (each.swimmer.name, each.swimmer.pk),
            ),
        )
        for squad in listed
    ]


def of_squad(squad: Squad, *, on: date) -> list[History]:
    """Who swims there that day, by name. Five queries."""
    places = SquadPlace.objects.on(on).filter(squad=squad)
    swimmers = Swimmer.objects.filter(pk__in=places.values("swimmer"))
    return histories(sorted(swimmers, key=lambda each: (each.name, each.pk)), on=on)
