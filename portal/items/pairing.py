"""Which faults go together, and whether two coaches see the same. Knows no database."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import comb
from typing import NamedTuple

FALSE_ONES = 0.10
"""Share of the pairs named that may be chance."""
FEWEST_SWIMMERS = 20
FEWEST_OF_A_KIND = 5
FEWEST_SEEN_TWICE = 30


class Table(NamedTuple):
    """Swimmers on whom both faults were looked for."""

    both: int
    first_only: int
    second_only: int
    neither: int

    @property
    def swimmers(self) -> int:
        return sum(self)

    @property
    def first(self) -> int:
        return self.both + self.first_only

    @property
    def second(self) -> int:
        return self.both + self.second_only

    @property
    def lift(self) -> float:
        """How many times as often they come together as they would by themselves; 0 if one of
        them never comes."""
        alone = self.first * self.second
        return self.swimmers * self.both / alone if alone else 0.0

    @property
    def is_worth_a_look(self) -> bool:
        rarest = min(
            self.first, self.second, self.swimmers - self.first, self.swimmers - self.second
        )
        return self.swimmers >= FEWEST_SWIMMERS and rarest >= FEWEST_OF_A_KIND


def fisher(table: Table) -> float:
    """Two-sided p: all tables with these margins that are no likelier than this one. Exact, in
    whole numbers until the last division."""
    first, second, swimmers = table.first, table.second, table.swimmers

    def ways(both: int) -> int:
        return comb(first, both) * comb(swimmers - first, second - both)

    seen = ways(table.both)
    possible = range(max(0, first + second - swimmers), min(first, second) + 1)
    return sum(w for both in possible if (w := ways(both)) <= seen) / comb(swimmers, second)


def adjusted(chances: Sequence[float]) -> list[float]:
    """The p values for as many questions as were asked, in their order (Benjamini and Hochberg
    1995)."""
    count = len(chances)
    order = sorted(range(count), key=lambda place: chances[place], reverse=True)
    found, least = [1.0] * count, 1.0
    for passed, place in enumerate(order):
        least = min(least, chances[place] * count / (count - passed))
        found[place] = least
    return found


def together(tables: Sequence[Table]) -> list[Table]:
    """Those that hardly come together by chance, in their order; all others were asked for too
    few swimmers or are not named."""
    asked = [table for table in tables if table.is_worth_a_look]
    chances = adjusted([fisher(table) for table in asked])
    return [table for table, chance in zip(asked, chances, strict=True) if chance <= FALSE_ONES]


def kappa(pairs: Iterable[tuple[bool, bool]]) -> float | None:
    """Agreement of two coaches on the same clips beyond chance (Cohen 1960), 1 at most.

    None below 30 clips, or if each only ever said one thing and so chance explains all.
    """
    seen = list(pairs)
    count = len(seen)
    if count < FEWEST_SEEN_TWICE:
        return None
    agreed = sum(one == other for one, other in seen) / count
    one = sum(one for one, _ in seen) / count
    other = sum(other for _, other in seen) / count
    by_chance = one * other + (1 - one) * (1 - other)
    return (agreed - by_chance) / (1 - by_chance) if by_chance < 1 else None
