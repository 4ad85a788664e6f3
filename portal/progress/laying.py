"""Laying out what was gathered: the grid of one swimmer, and the short rows of a squad."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Self

from portal.kit.signs import Sign
from portal.progress import phrasing
from portal.progress.charting import Column
from portal.progress.gathering import History, Item, Published

NEWEST = 10
LAST = 5


@dataclass(frozen=True)
class Cell:
    sign: Sign
    after_gap: bool

    @property
    def word(self) -> str:
        return phrasing.word(self.sign)


@dataclass(frozen=True)
class Line:
    """An item with its signs, oldest first, and what they come to in words.

    The words count every look, also those older than the cells.
    """

    item: Item
    cells: list[Cell]
    seen: str
    since: str

    @classmethod
    def of(cls, item: Item, columns: list[Column], *, newest: int) -> Self:
        drawn = zip(item.row.signs, columns, strict=True)
        cells = [Cell(sign, column.after_gap) for sign, column in drawn]
        return cls(
            item=item,
            cells=cells[-newest:],
            seen=phrasing.seen(item.row),
            since=phrasing.since(item.row, columns),
        )

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


@dataclass(frozen=True)
class Head:
    """A session over its column. `starts_month` at the first one and whenever a month begins."""

    column: Column
    review: Published
    starts_month: bool
    may_read: bool
    """Notes of a squad that the swimmer has left are not for the new squad's staff."""


@dataclass(frozen=True)
class Grid:
    heads: list[Head]
    groups: list[tuple[str, list[Line]]]
    older: int
    """Sessions before the ones that are drawn."""


def grid(history: History, *, squads: Collection[int], newest: int = NEWEST) -> Grid:
    """`squads` are the ids of the reader's own."""
    lines = (Line.of(item, history.columns, newest=newest) for item in history.items)
    groups = groupby(lines, key=lambda line: line.item.row.need)
    return Grid(
        heads=list(_heads(history, squads, newest=newest)),
        groups=[(phrasing.heading(need), list(found)) for need, found in groups],
        older=max(0, len(history.columns) - newest),
    )


def _heads(history: History, squads: Collection[int], *, newest: int) -> Iterable[Head]:
    month = None
    for column, review in list(zip(history.columns, history.reviews, strict=True))[-newest:]:
        yield Head(
            column=column,
            review=review,
            starts_month=column.date.month != month,
            may_read=review.squad in squads,
        )
        month = column.date.month


def last_looks(history: History) -> list[Line]:
    """The open items with the signs of the newest sessions."""
    return [Line.of(item, history.columns, newest=LAST) for item in history.open_items]
