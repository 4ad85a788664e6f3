"""Who swims in which lane, so that together it is worth the most. Knows no database.

An exact transport: swimmers come one after the other, and each goes in by the path that gains
most, on which others may move on to a lane that has room. Paths are found over the lanes alone
(Bellman and Ford), since whoever moves from one lane to another is the one who loses least by it.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

SwimmerT = TypeVar("SwimmerT", bound=Hashable)
LaneT = TypeVar("LaneT", bound=Hashable)


@dataclass
class _Pool(Generic[SwimmerT, LaneT]):
    worth: Mapping[SwimmerT, Mapping[LaneT, int]]
    lanes: Sequence[LaneT]
    seats: int
    held: Mapping[SwimmerT, LaneT]
    seated: dict[LaneT, list[SwimmerT]] = field(default_factory=dict)

    def has_room(self, lane: LaneT) -> bool:
        return len(self.seated[lane]) < self.seats

    def of(self, swimmer: SwimmerT, lane: LaneT) -> int:
        return self.worth[swimmer].get(lane, 0)

    def mover(self, here: LaneT, there: LaneT) -> SwimmerT | None:
        """Who of `here` may swim in `there` and loses least by it."""
        able = [
            each for each in self.seated[here] if each not in self.held and self.of(each, there) > 0
        ]
        return max(able, key=lambda each: self.of(each, there) - self.of(each, here), default=None)


def seat(
    worth: Mapping[SwimmerT, Mapping[LaneT, int]],
    *,
    lanes: Sequence[LaneT],
    seats: int,
    held: Mapping[SwimmerT, LaneT] | None = None,
) -> dict[SwimmerT, LaneT]:
    """Each swimmer's lane; `seats` in a lane, whose held swimmers stay where they are even if
    they are more.

    A swimmer is seated only where it is worth something (more than 0) to them; whoever finds
    no such place is left out. The order of `worth` and of `lanes` decides between equals.
    """
    held = {swimmer: lane for swimmer, lane in (held or {}).items() if lane in lanes}
    pool = _Pool(worth=worth, lanes=lanes, seats=seats, held=held)
    pool.seated = {lane: [each for each, at in held.items() if at == lane] for lane in lanes}
    for swimmer in worth:
        if swimmer not in held:
            _put(pool, swimmer)
    return {swimmer: lane for lane in lanes for swimmer in pool.seated[lane]}


def _put(pool: _Pool[SwimmerT, LaneT], swimmer: SwimmerT) -> None:
    gains: dict[LaneT, int] = {
        lane: pool.of(swimmer, lane) for lane in pool.lanes if pool.of(swimmer, lane) > 0
    }
    came: dict[LaneT, LaneT | None] = dict.fromkeys(gains)
    movers = _movers(pool)
    for _round in pool.lanes:
        for (here, there), mover in movers.items():
            if here not in gains:
                continue
            gain = gains[here] + pool.of(mover, there) - pool.of(mover, here)
            if there not in gains or gain > gains[there]:
                gains[there], came[there] = gain, here
    ends = {lane: gain for lane, gain in gains.items() if pool.has_room(lane) and gain >= 0}
    end = max(ends, key=lambda lane: ends[lane], default=None)
    least = {lane: weakest for lane in gains if (weakest := _weakest(pool, lane)) is not None}
    # Where somebody leaves the pool altogether.
    pushes = {lane: gains[lane] - pool.of(leaver, lane) for lane, leaver in least.items()}
    push = max(pushes, key=lambda lane: pushes[lane], default=None)
    if push is not None and pushes[push] > (0 if end is None else ends[end]):
        pool.seated[push].remove(least[push])
        end = push
    if end is not None:
        _walk(pool, swimmer, end, came, movers)


def _movers(pool: _Pool[SwimmerT, LaneT]) -> dict[tuple[LaneT, LaneT], SwimmerT]:
    pairs = ((here, there) for here in pool.lanes for there in pool.lanes if here != there)
    found = {(here, there): pool.mover(here, there) for here, there in pairs}
    return {pair: mover for pair, mover in found.items() if mover is not None}


def _weakest(pool: _Pool[SwimmerT, LaneT], lane: LaneT) -> SwimmerT | None:
    free = [each for each in pool.seated[lane] if each not in pool.held]
    return min(free, key=lambda each: pool.of(each, lane), default=None)


def _walk(
    pool: _Pool[SwimmerT, LaneT],
    swimmer: SwimmerT,
    lane: LaneT,
    came: Mapping[LaneT, LaneT | None],
    movers: Mapping[tuple[LaneT, LaneT], SwimmerT],
) -> None:
    """Back along the path: everybody on it moves one lane on, then the new one sits down."""
    while (before := came[lane]) is not None:
        mover = movers[before, lane]
        pool.seated[before].remove(mover)
        pool.seated[lane].append(mover)
        lane = before
    pool.seated[lane].append(swimmer)
