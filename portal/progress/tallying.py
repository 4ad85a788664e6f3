"""What a squad's items come to. Knows no database, and ranks nobody."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Any, NamedTuple

from portal.items.pairing import Table
from portal.items.pressing import points
from portal.items.recurrence import Look, Said, Standing, State

ACTIVE = (State.NEW, State.RECURRING, State.RETURNED)
FEWEST_TOGETHER = 5
FEWEST_IN_BOTH = 3
TAKEN_WITHIN = 4
TO_BE_CLEAN = 2

Key = Any
"""Whatever names an item."""
Standings = Mapping[int, Mapping[Key, Standing]]
"""By swimmer and item. Praise of a checkpoint stands under each fault of it that somebody has."""


@dataclass(frozen=True)
class Bar:
    """All swimmers of a squad by how they stand on one item."""

    item: Key
    active: list[int]
    clean: list[int]
    total: int
    weight: int
    """How much it asks to be practised."""

    @property
    def looked_at(self) -> int:
        return len(self.active) + len(self.clean)

    @property
    def unseen(self) -> int:
        return self.total - self.looked_at


def bars(standings: Standings) -> list[Bar]:
    """Of items that somebody has open; what asks for most practice first, then as they come."""
    by_item: dict[Key, dict[int, Standing]] = defaultdict(dict)
    for swimmer, items in standings.items():
        for item, standing in items.items():
            if standing.looks:
                by_item[item][swimmer] = standing
    found = [_bar(item, known, len(standings)) for item, known in by_item.items()]
    return sorted((bar for bar in found if bar.weight), key=lambda bar: -bar.weight)


def _bar(item: Key, known: Mapping[int, Standing], total: int) -> Bar:
    return Bar(
        item=item,
        active=[swimmer for swimmer, each in known.items() if each.state in ACTIVE],
        clean=[swimmer for swimmer, each in known.items() if each.state not in ACTIVE],
        total=total,
        weight=sum(points(each.state, is_not_legal=each.was_not_legal) for each in known.values()),
    )


class Cohort(NamedTuple):
    """The same swimmers in two stretches of time, or the leavers would look like a success."""

    swimmers: int
    before: int
    after: int


def cohort(looks: Mapping[int, Sequence[Look]], *, middle: date, starts: date) -> Cohort | None:
    """Those looked at both from `starts` on and from `middle` on, by their last look of each.
    None if they are too few to say anything of them."""
    before, after = 0, 0
    both = 0
    for found in looks.values():
        counted = [look for look in found if look.counts]
        early = [look for look in counted if starts <= look.day < middle]
        late = [look for look in counted if look.day >= middle]
        if early and late:
            both += 1
            before += early[-1].is_faulty
            after += late[-1].is_faulty
    return Cohort(both, before, after) if both >= FEWEST_IN_BOTH else None


class Pair(NamedTuple):
    first: Key
    second: Key
    table: Table


def pairs(standings: Standings) -> list[Pair]:
    """Items that most of the swimmers with the one also have; counted, without a claim."""
    active: dict[Key, set[int]] = defaultdict(set)
    seen: dict[Key, set[int]] = defaultdict(set)
    for swimmer, items in standings.items():
        for item, standing in items.items():
            if standing.looks:
                seen[item].add(swimmer)
                if standing.state in ACTIVE:
                    active[item].add(swimmer)
    often = [item for item, swimmers in active.items() if len(swimmers) >= FEWEST_TOGETHER]
    found = []
    for one, other in combinations(often, 2):
        looked_at = seen[one] & seen[other]
        first, second = active[one] & looked_at, active[other] & looked_at
        both = len(first & second)
        neither = len(looked_at - first - second)
        table = Table(both, len(first) - both, len(second) - both, neither)
        if table.first >= FEWEST_TOGETHER and 2 * both > table.first:
            found.append(Pair(one, other, table))
    return sorted(found, key=lambda pair: -pair.table.both)


class Trial(NamedTuple):
    """Items that recurred, with a drill or without: how many got clean within the next looks."""

    clean: int = 0
    of: int = 0

    def plus(self, got_clean: bool | None) -> Trial:  # noqa: FBT001 - a count of answers
        if got_clean is None:
            return self
        return Trial(self.clean + got_clean, self.of + 1)


def got_clean(looks: Sequence[Look], *, since: tuple[date, int]) -> bool | None:
    """Whether two clean looks in a row came within the four after `since`, a day and a session.
    None: it is too early to say."""
    after = [look for look in looks if look.counts and (look.day, look.session) > since]
    run = 0
    for look in after[:TAKEN_WITHIN]:
        run = 0 if look.is_faulty else run + 1
        if run == TO_BE_CLEAN:
            return True
    return False if len(after) >= TAKEN_WITHIN else None


def doubles(said: Iterable[tuple[Key, Collection[Said]]]) -> dict[tuple[int, int], list[Both]]:
    """What two coaches said of the same item on the same clip, by the two."""
    found: dict[tuple[int, int], list[Both]] = defaultdict(list)
    for _item, words in said:
        by_clip: dict[int, dict[int, bool]] = defaultdict(dict)
        for each in words:
            if each.clip is not None:
                known = by_clip[each.clip]
                known[each.coach] = each.is_faulty or known.get(each.coach, False)
        for coaches in by_clip.values():
            for one, other in combinations(sorted(coaches), 2):
                found[one, other].append((coaches[one], coaches[other]))
    return dict(found)


Both = tuple[bool, bool]
