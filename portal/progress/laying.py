"""Laying out what was gathered: the grid of one swimmer, and the short rows of a squad."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import groupby
from typing import NamedTuple, Self

from django.utils.translation import gettext as _

from portal.items.checking import Answered
from portal.items.models import Observation
from portal.kit.signs import Sign
from portal.people.models import Swimmer
from portal.progress import charting, phrasing
from portal.progress.charting import FAULTY, Box, Column, Curve
from portal.progress.gathering import History, Item, Published
from portal.recordings.models import View
from portal.technique.models import Stroke

NEWEST = 10
LAST = 5
SMALL, LARGE = Box(4, 5, 116, 27), Box(38, 12, 322, 118)


@dataclass(frozen=True)
class Cell:
    sign: Sign
    after_gap: bool
    is_disputed: bool = False

    @property
    def word(self) -> str:
        if self.is_disputed:
            return _("left out: two coaches saw it differently")
        return phrasing.word(self.sign)


@dataclass(frozen=True)
class Line:
    """An item with its signs, oldest first, and what they come to in words.

    The words count every look, also those older than the cells.
    """

    item: Item
    cells: list[Cell]
    since: str
    curve: Curve | None

    @classmethod
    def of(cls, item: Item, columns: list[Column], *, newest: int, with_rate: bool) -> Self:
        disputed = {look.session for look in item.looks if look.disputed and not look.counts}
        cells = [
            Cell(sign, column.after_gap, column.session in disputed)
            for sign, column in zip(item.signs, columns, strict=True)
        ]
        shown = places(columns[-newest:])
        rates = charting.rates(item.looks) if with_rate else []
        return cls(
            item=item,
            cells=cells[-newest:],
            since=phrasing.since(item, columns),
            curve=charting.curve(rates, shown, SMALL),
        )

    @property
    def seen(self) -> str:
        return phrasing.seen(self.item)

    @property
    def short(self) -> str:
        return phrasing.short(self.item)

    @property
    def status(self) -> str:
        return phrasing.status(self.item)

    @property
    def signs(self) -> str:
        return phrasing.signs([cell.sign for cell in self.cells])

    @property
    def drawn(self) -> list[Sign]:
        """The signs with their gaps, as a short row has them."""
        return [
            sign
            for cell in self.cells
            for sign in ((Sign.GAP, cell.sign) if cell.after_gap else (cell.sign,))
        ]


def places(columns: Sequence[Column]) -> dict[int, int]:
    return {column.session: place for place, column in enumerate(columns)}


@dataclass(frozen=True)
class Head:
    """A session over its column. `starts_month` at the first one and whenever a month begins."""

    column: Column
    review: Published
    starts_month: bool
    may_read: bool
    """Notes of a squad that the swimmer has left are not for the new squad's staff."""
    marks: list[str]
    """Who or what looked for the first time: what is seen may change with who looks."""


@dataclass(frozen=True)
class Grid:
    heads: list[Head]
    groups: list[tuple[str, list[Line]]]
    older: int
    """Sessions before the ones that are drawn."""

    @property
    def marked(self) -> list[Head]:
        return [head for head in self.heads if head.marks]


def grid(
    history: History,
    items: Iterable[Item],
    marks: Mapping[int, list[str]],
    *,
    squads: Collection[int],
    newest: int = NEWEST,
    with_rate: bool = True,
) -> Grid:
    """`squads` are the ids of the reader's own."""
    lines = [Line.of(item, history.columns, newest=newest, with_rate=with_rate) for item in items]
    order = sorted(lines, key=_place)
    groups = groupby(order, key=lambda line: phrasing.group(line.item))
    return Grid(
        heads=list(_heads(history, squads, marks, newest=newest)),
        groups=[(title, list(found)) for title, found in groups],
        older=max(0, len(history.columns) - newest),
    )


def _place(line: Line) -> tuple[object, ...]:
    """Not legal first, then by the parts of a swim, in each by need."""
    item = line.item
    return not item.is_not_legal, item.phase_order * (not item.is_not_legal), item.need


def _heads(
    history: History, squads: Collection[int], marks: Mapping[int, list[str]], *, newest: int
) -> Iterable[Head]:
    month = None
    for column, review in list(zip(history.columns, history.reviews, strict=True))[-newest:]:
        yield Head(
            column=column,
            review=review,
            starts_month=column.date.month != month,
            may_read=review.squad in squads,
            marks=marks.get(column.session, []),
        )
        month = column.date.month


def marks(history: History) -> dict[int, list[str]]:
    """By session: coaches and camera views that were not there before. One query."""
    shown = [column.session for column in history.columns]
    rows = Observation.objects.filter(swimmer=history.swimmer, session__in=shown).order_by()
    by_session: dict[int, set[tuple[str, str]]] = defaultdict(set)
    for session, coach, view in rows.values_list("session_id", "coach__name", "clip__view"):
        by_session[session].add(("coach", coach))
        if view:
            by_session[session].add(("view", view))
    known: set[tuple[str, str]] = set()
    found: dict[int, list[str]] = {}
    for session in shown:
        fresh = sorted(by_session[session] - known)
        first = {kind for kind, _word in known}
        # The first coach and the first camera are where everything begins, and no change.
        found[session] = [_mark(kind, name) for kind, name in fresh if kind in first]
        known |= by_session[session]
    return {session: said for session, said in found.items() if said}


def _mark(kind: str, name: str) -> str:
    if kind == "coach":
        return _("first looked at by %(coach)s") % {"coach": name}
    return _("first filmed “%(view)s”") % {"view": View(name).label}


def last_looks(history: History) -> list[Line]:
    """The open items with the signs of the newest sessions."""
    return [
        Line.of(item, history.columns, newest=LAST, with_rate=False) for item in history.open_items
    ]


class Tab(NamedTuple):
    slug: str
    label: str
    open: str
    is_current: bool


def tabs(history: History, chosen: str) -> list[Tab]:
    """One for each stroke of which something was seen, in the order of the strokes. The one with
    the most open items is in front unless another is chosen."""
    counts = {item.key.point.stroke: 0 for item in history.items}
    for item in history.open_items:
        counts[item.key.point.stroke] += 1
    if not counts:
        return []
    current = chosen if chosen in counts else max(counts, key=lambda slug: counts[slug])
    return [
        Tab(slug, str(Stroke(slug).label), phrasing.open_short(counts[slug]), slug == current)
        for slug in Stroke.values
        if slug in counts
    ]


@dataclass(frozen=True)
class Panel:
    """One item, in full."""

    item: Item
    columns: list[Column]
    with_rate: bool
    answered: Answered

    @property
    def status(self) -> str:
        return phrasing.status(self.item)

    @property
    def sentences(self) -> list[str]:
        return phrasing.sentences(self.item)

    @property
    def rate(self) -> str:
        return phrasing.rate(self.item, self.answered)

    @cached_property
    def curve(self) -> Curve | None:
        rates = charting.rates(self.item.looks) if self.with_rate else []
        return charting.curve(rates, places(self.columns), LARGE)

    @property
    def dots(self) -> list[tuple[float, float, Sign]]:
        """Each look on its curve, as the sign that the grid has for it; left top corners."""
        by_session = {look.session: look for look in self.item.looks}
        found = self.curve.dots if self.curve else []
        return [(x - 7, y - 7, charting.sign_of(by_session[session])) for x, y, session in found]

    @property
    def ends(self) -> list[date]:
        """The days of the first and the last look that are drawn."""
        by_session = {look.session: look.day for look in self.item.looks}
        found = self.curve.dots if self.curve else []
        return [by_session[found[0][2]], by_session[found[-1][2]]] if found else []


def panel(items: Sequence[Item], columns: list[Column], slug: str, answered: Answered) -> Panel:
    """Of the item that was chosen, else of the one that asks for most."""
    item = next((each for each in items if each.slug == slug), items[0])
    return Panel(item, columns, answered.is_enough, answered)


@dataclass(frozen=True)
class Tick:
    """A session on the season's line; heights in the picture's units."""

    day: date
    x: float
    up: float
    down: float
    words: str
    after_gap: bool
    marks: list[str]


@dataclass(frozen=True)
class Timeline:
    ticks: list[Tick]
    months: list[tuple[float, date]]

    @property
    def gaps(self) -> list[float]:
        """Between the sessions on either side."""
        pairs = zip(self.ticks, self.ticks[1:], strict=False)
        return [round((one.x + other.x) / 2, 1) for one, other in pairs if other.after_gap]


LINE = Box(24, 10, 976, 110)
MIDDLE, HIGHEST = 62, 46


def timeline(
    history: History, marks: Mapping[int, list[str]], *, starts: date, ends: date
) -> Timeline | None:
    """The sessions from `starts` to `ends`: items with a fault upwards, clean ones downwards."""
    shown = [(n, c) for n, c in enumerate(history.columns) if starts <= c.date <= ends]
    if not shown:
        return None
    days = max((ends - starts).days, 1)
    counts = [Counter(item.signs[n] for item in history.items) for n, _column in shown]
    faulty = [sum(count[sign] for sign in FAULTY) for count in counts]
    clean = [count[Sign.GOOD] for count in counts]
    most = max([*faulty, *clean, 1])
    ticks = [
        Tick(
            day=column.date,
            x=LINE.across((column.date - starts).days, days + 1),
            up=round(HIGHEST * faulty[n] / most, 1),
            down=round(HIGHEST * clean[n] / most, 1),
            words=phrasing.session_counts(faulty[n], clean[n]),
            after_gap=column.after_gap,
            marks=marks.get(column.session, []),
        )
        for n, (_number, column) in enumerate(shown)
    ]
    return Timeline(ticks, list(_months(starts, ends)))


def _months(starts: date, ends: date) -> Iterable[tuple[float, date]]:
    days = max((ends - starts).days, 1)
    month = starts.replace(day=1)
    while month <= ends:
        if month >= starts:
            yield LINE.across((month - starts).days, days + 1), month
        month = (month.replace(day=28) + (date.resolution * 4)).replace(day=1)


def span(swimmer: Swimmer, *, on: date) -> tuple[date, date]:
    """The season of that day up to the day, else the year before it. One query."""
    season = swimmer.club.seasons.filter(starts__lte=on, ends__gte=on).first()
    return (season.starts if season else on.replace(year=on.year - 1, day=1)), on
