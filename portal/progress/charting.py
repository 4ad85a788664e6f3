"""The session x item grid of one swimmer and its curves, as numbers. Knows no database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple

from portal.items.estimating import Band, recent_band
from portal.items.recurrence import Look, standings
from portal.kit.signs import Sign

GAP_DAYS = 28
FEWEST_FOR_RATE = 5
FAULTY = (Sign.NOT_LEGAL, Sign.WORK_ON, Sign.BOTH)


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


@dataclass(frozen=True)
class Row:
    """An item and its sign in each column. `fault` is empty when it was only ever praised."""

    stroke: str
    checkpoint: str
    fault: str
    signs: tuple[Sign, ...]

    # Cached: the words of a row ask it again and again.
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


def columns(sessions: Iterable[tuple[int, date]]) -> list[Column]:
    """Oldest first; sessions of one day keep the order of their ids."""
    ordered = sorted(sessions, key=lambda pair: (pair[1], pair[0]))
    days = [day for _, day in ordered]
    return [
        Column(session, day, index > 0 and (day - days[index - 1]).days > GAP_DAYS)
        for index, (session, day) in enumerate(ordered)
    ]


def rows(seen: Sequence[Seen], shown: Sequence[Column]) -> list[Row]:
    """One row an item, by stroke, checkpoint and fault."""
    good: dict[tuple[str, str], set[int]] = defaultdict(set)
    bad: dict[tuple[str, str, str], dict[int, set[Sign]]] = defaultdict(lambda: defaultdict(set))
    for look in seen:
        if look.fault:
            bad[look.stroke, look.checkpoint, look.fault][look.session].add(look.sign)
        else:
            good[look.stroke, look.checkpoint].add(look.session)
    with_fault = {(stroke, checkpoint) for stroke, checkpoint, _ in bad}
    items = [*bad, *((*point, "") for point in good if point not in with_fault)]
    drawn = [
        Row(*item, tuple(_sign(bad.get(item, {}), good[item[:2]], c.session) for c in shown))
        for item in items
    ]
    return sorted(
        (row for row in drawn if set(row.signs) != {Sign.NOT_LOOKED_AT} and row.signs),
        key=lambda row: (row.stroke, row.checkpoint, row.fault),
    )


def _sign(bad: Mapping[int, set[Sign]], good: set[int], session: int) -> Sign:
    said = bad.get(session, set()) | ({Sign.GOOD} if session in good else set())
    if Sign.NOT_LEGAL in said:
        return Sign.NOT_LEGAL
    if {Sign.GOOD, Sign.WORK_ON} <= said:
        return Sign.BOTH
    return next(iter(said), Sign.NOT_LOOKED_AT)


def sign_of(look: Look | None) -> Sign:
    """Without a look, or where two coaches contradict each other on all clips, nobody looked."""
    if look is None or not look.counts:
        return Sign.NOT_LOOKED_AT
    if not look.is_faulty:
        return Sign.GOOD
    if look.is_not_legal:
        return Sign.NOT_LEGAL
    return Sign.BOTH if look.both_seen else Sign.WORK_ON


class Rate(NamedTuple):
    """The recent share after one look, 0 to 1. No band before the fifth look."""

    session: int
    share: float
    band: Band | None


def rates(looks: Sequence[Look]) -> list[Rate]:
    """After each look, oldest first; none at all below five looks."""
    counted = [look for look in looks if look.counts]
    if len(counted) < FEWEST_FOR_RATE:
        return []
    return [
        Rate(
            look.session,
            now.rate,
            recent_band(now.rate, now.looks) if now.looks >= FEWEST_FOR_RATE else None,
        )
        for look, now in zip(counted, standings(counted), strict=True)
    ]


@dataclass(frozen=True)
class Box:
    """Where a curve is drawn, in its picture's own units."""

    left: float
    top: float
    right: float
    bottom: float

    def across(self, place: int, places: int) -> float:
        """The middle of the only place, else evenly from edge to edge."""
        part = place / (places - 1) if places > 1 else 0.5
        return round(self.left + part * (self.right - self.left), 1)

    def up(self, share: float) -> float:
        return round(self.bottom - share * (self.bottom - self.top), 1)


@dataclass(frozen=True)
class Curve:
    """As the attributes of SVG take it: points of the line, corners of the band, dots."""

    line: str
    band: str
    dots: list[tuple[float, float, int]]
    """Where each look lies, and its session."""


def curve(found: Sequence[Rate], places: Mapping[int, int], box: Box) -> Curve | None:
    """`places` are the columns of sessions; those that are not drawn have none."""
    drawn = [rate for rate in found if rate.session in places]
    if not drawn:
        return None
    # From the first that is drawn: nobody needs the empty paper before it.
    first = min(places.values())
    count = max(places.values()) - first + 1

    def across(rate: Rate) -> float:
        return box.across(places[rate.session] - first, count)

    upper = [(across(rate), box.up(rate.band.high)) for rate in drawn if rate.band]
    lower = [(across(rate), box.up(rate.band.low)) for rate in drawn if rate.band]
    dots = [(across(rate), box.up(rate.share), rate.session) for rate in drawn]
    return Curve(
        line=_points((x, y) for x, y, _ in dots),
        band=_points([*upper, *reversed(lower)]) if len(upper) > 1 else "",
        dots=dots,
    )


def _points(found: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in found)
