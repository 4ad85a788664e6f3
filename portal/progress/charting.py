"""The session x item grid of one swimmer, from observations. Knows no database.

An item is a stroke, a checkpoint and a fault. A session is a look at it when something was
said of the fault, or good of its checkpoint; a session without either is no look, which is
neither good nor bad.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from functools import cached_property

from portal.kit.signs import Sign

GAP_DAYS = 28
CLEAN_TO_CLOSE = 3


@dataclass(frozen=True)
class Seen:
    """One observation. `fault` is empty for praise."""

    session: int
    stroke: str
    checkpoint: str
    fault: str
    sign: Sign


@dataclass(frozen=True)
class Column:
    """A session of which a review was published; `after_gap` when 28 days or more lie before."""

    session: int
    date: date
    after_gap: bool


class Need(IntEnum):
    """How much an item asks for, the most first."""

    NOT_LEGAL = 0
    OPEN = 1
    CLEAN = 2
    GOOD = 3
    """Never anything but good."""


@dataclass(frozen=True)
class Row:
    """An item and its sign in each column. `fault` is empty when it was only ever praised."""

    stroke: str
    checkpoint: str
    fault: str
    signs: tuple[Sign, ...]

    # Cached: order, need and words of a row ask them again and again.
    @cached_property
    def looks(self) -> int:
        """n: sessions in which somebody looked."""
        return sum(sign != Sign.NOT_LOOKED_AT for sign in self.signs)

    @cached_property
    def faulty(self) -> int:
        """k: looks in which the fault was seen, alone or beside good ones."""
        return sum(sign in FAULTY for sign in self.signs)

    @cached_property
    def clean_run(self) -> int:
        """Clean looks since the last faulty one."""
        run = 0
        for sign in self.signs:
            if sign in FAULTY:
                run = 0
            elif sign == Sign.GOOD:
                run += 1
        return run

    @property
    def is_open(self) -> bool:
        return self.faulty > 0 and self.clean_run < CLEAN_TO_CLOSE

    @property
    def was_not_legal(self) -> bool:
        return Sign.NOT_LEGAL in self.signs

    @property
    def need(self) -> Need:
        if self.is_open:
            return Need.NOT_LEGAL if self.was_not_legal else Need.OPEN
        return Need.CLEAN if self.faulty else Need.GOOD

    @property
    def unseen_since(self) -> int:
        """Sessions that went by since the newest look."""
        return next(
            back for back, sign in enumerate(reversed(self.signs)) if sign != Sign.NOT_LOOKED_AT
        )


FAULTY = (Sign.NOT_LEGAL, Sign.WORK_ON, Sign.BOTH)


def columns(sessions: Iterable[tuple[int, date]]) -> list[Column]:
    """Oldest first; sessions of one day keep the order of their ids."""
    ordered = sorted(sessions, key=lambda pair: (pair[1], pair[0]))
    days = [day for _, day in ordered]
    return [
        Column(session, day, index > 0 and (day - days[index - 1]).days > GAP_DAYS)
        for index, (session, day) in enumerate(ordered)
    ]


def rows(seen: Sequence[Seen], shown: Sequence[Column]) -> list[Row]:
    """One row an item, what matters most first: not legal, then open, then often seen."""
    good: dict[tuple[str, str], set[int]] = defaultdict(set)
    bad: dict[tuple[str, str, str], dict[int, Sign]] = defaultdict(dict)
    for look in seen:
        if look.fault:
            signs = bad[look.stroke, look.checkpoint, look.fault]
            signs[look.session] = _worse(signs.get(look.session), look.sign)
        else:
            good[look.stroke, look.checkpoint].add(look.session)
    with_fault = {(stroke, checkpoint) for stroke, checkpoint, _ in bad}
    items = [*bad, *((*point, "") for point in good if point not in with_fault)]
    drawn = [
        Row(*item, tuple(_sign(bad.get(item, {}), good[item[:2]], c.session) for c in shown))
        for item in items
    ]
    return sorted((row for row in drawn if row.looks), key=_place)


def _worse(one: Sign | None, other: Sign) -> Sign:
    return Sign.NOT_LEGAL if Sign.NOT_LEGAL in (one, other) else other


def _sign(bad: dict[int, Sign], good: set[int], session: int) -> Sign:
    if session not in bad:
        return Sign.GOOD if session in good else Sign.NOT_LOOKED_AT
    if bad[session] == Sign.NOT_LEGAL:
        return Sign.NOT_LEGAL
    return Sign.BOTH if session in good else bad[session]


def _place(row: Row) -> tuple[Need, int, str, str, str]:
    return row.need, -row.faulty, row.stroke, row.checkpoint, row.fault
