"""Which faults recur from session to session. Knows no database.

An item is a stroke, a checkpoint and a fault. A clip's verdict is faulty if a coach said so of it
anywhere, else good; where two coaches contradict each other on one clip it is disputed and counts
for nothing until they settle it. A session with a verdict is a look, however many tags it has; a
session without one is no look, which is neither good nor bad.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

HALF_LIFE = 3
DECAY: float = 0.5 ** (1 / HALF_LIFE)
"""What a look loses of its weight with every look after it."""
WINDOW = 4
LUCK = 0.10
FEWEST_CLEAN, MOST_CLEAN = 3, 5
CLEAN_TO_IMPROVE = 2
CLEAN_SPAN = timedelta(days=14)
"""Between the first and the last clean look: a weekend of clinics is one look."""
UNSEEN_AFTER = timedelta(days=42)
UNSEEN_SESSIONS = 4


class State(StrEnum):
    GOOD = "good"
    NEW = "new"
    RECURRING = "recurring"
    IMPROVING = "improving"
    FIXED = "fixed"
    RETURNED = "returned"


OPEN = (State.RETURNED, State.RECURRING, State.NEW, State.IMPROVING)
"""In order of need."""


class Said(NamedTuple):
    """One published observation of an item. `clip` is None for a note without film."""

    session: int
    day: date
    clip: int | None
    coach: int
    is_faulty: bool
    is_not_legal: bool = False
    is_overruled: bool = False
    """Another coach saw it differently, and that counts."""


class Look(NamedTuple):
    """A session's clips of one item by their verdicts. No look if all of them are disputed."""

    session: int
    day: date
    faulty: int
    good: int
    disputed: int = 0
    is_not_legal: bool = False

    @property
    def counts(self) -> bool:
        return self.faulty + self.good > 0

    @property
    def is_faulty(self) -> bool:
        return self.faulty > 0

    @property
    def both_seen(self) -> bool:
        return self.faulty > 0 and self.good > 0

    @property
    def share(self) -> float:
        """Faulty clips of all that have a verdict, 0 to 1."""
        return self.faulty / (self.faulty + self.good)


def looks(said: Iterable[Said]) -> list[Look]:
    """One a session, by day and then by the session's id. A note without film is a clip of its
    own."""
    by_session: dict[int, list[Said]] = defaultdict(list)
    for each in said:
        if not each.is_overruled:
            by_session[each.session].append(each)
    found = [_look(session, each) for session, each in by_session.items()]
    return sorted(found, key=lambda look: (look.day, look.session))


def _look(session: int, said: Sequence[Said]) -> Look:
    if len(said) == 1:
        [one] = said
        return Look(
            session, one.day, int(one.is_faulty), int(not one.is_faulty), 0, one.is_not_legal
        )
    coaches: dict[object, dict[int, bool]] = defaultdict(dict)
    for number, each in enumerate(said):
        clip = ("note", number) if each.clip is None else each.clip
        coaches[clip][each.coach] = each.is_faulty or coaches[clip].get(each.coach, False)
    verdicts = [set(by_coach.values()) for by_coach in coaches.values()]
    return Look(
        session=session,
        day=max(each.day for each in said),
        faulty=verdicts.count({True}),
        good=verdicts.count({False}),
        disputed=verdicts.count({True, False}),
        is_not_legal=any(each.is_not_legal for each in said),
    )


@dataclass
class Standing:
    """How an item stands after some looks."""

    state: State = State.GOOD
    looks: int = 0
    """n"""
    faulty: int = 0
    """k: looks in which the fault was seen, alone or beside good ones."""
    clean_run: int = 0
    """Clean looks since the last faulty one."""
    faulty_run: int = 0
    needed: int = FEWEST_CLEAN
    """R: clean looks in a row that make it fixed."""
    weighted: float = 0.0
    """Shares of faulty clips, each with its look's weight: 1 for the newest, then `DECAY` on."""
    was_not_legal: bool = False
    disputed: int = 0
    first_fault: date | None = None
    last_fault: date | None = None
    last_look: date | None = None
    last_session: int | None = None
    has_returned: bool = False
    clean_since: date | None = None
    window: list[bool] = field(default_factory=list)

    @property
    def rate(self) -> float:
        """The recent share of faulty clips; a look three looks ago counts half. 0 without looks."""
        return self.weighted / weight(self.looks) if self.looks else 0.0


def weight(looks: int) -> float:
    """Of `looks` looks together, added up as their shares are: no rate is over 1 by a rounding."""
    together = 0.0
    for _ in range(looks):
        together = together * DECAY + 1
    return together


def effective_looks(looks: int) -> float:
    """How many equal looks say as much (Kish); never more than 8.7. 0 without looks."""
    squares = sum(DECAY ** (2 * back) for back in range(looks))
    return weight(looks) ** 2 / squares if looks else 0.0


def luck(faulty: int, looks: int, clean: int) -> float:
    """How probable `clean` clean looks in a row are if nothing has changed since `faulty` of
    `looks` (posterior predictive with Jeffreys' prior)."""
    chance = 1.0
    for number in range(clean):
        chance *= (looks - faulty + 0.5 + number) / (looks + 1 + number)
    return chance


def clean_needed(faulty: int, looks: int) -> int:
    """Fewest clean looks that are hardly luck, 3 to 5."""
    enough = (r for r in range(FEWEST_CLEAN, MOST_CLEAN) if luck(faulty, looks, r) <= LUCK)
    return next(enough, MOST_CLEAN)


def stand(looks: Iterable[Look]) -> Standing:
    """After all looks, which come oldest first."""
    standing = Standing()
    for standing in standings(looks):  # noqa: B007 - the last one counts
        pass
    return standing


def standings(looks: Iterable[Look]) -> Iterator[Standing]:
    """The same object after each look, changed from one to the next."""
    standing = Standing()
    for look in looks:
        standing.disputed += look.disputed
        if look.counts:
            _count(standing, look)
            if look.is_faulty:
                _see_fault(standing, look)
            else:
                _see_clean(standing, look)
        yield standing


def _count(standing: Standing, look: Look) -> None:
    standing.looks += 1
    standing.weighted = standing.weighted * DECAY + look.share
    standing.last_look, standing.last_session = look.day, look.session
    standing.window = [*standing.window[1 - WINDOW :], look.is_faulty]


def _see_fault(standing: Standing, look: Look) -> None:
    standing.faulty += 1
    standing.faulty_run += 1
    standing.clean_run, standing.clean_since = 0, None
    standing.first_fault = standing.first_fault or look.day
    standing.last_fault = look.day
    standing.was_not_legal = standing.was_not_legal or look.is_not_legal
    if standing.state == State.FIXED:
        standing.state, standing.has_returned, standing.window = State.RETURNED, True, [True]
    elif standing.state == State.GOOD:
        standing.state = State.NEW
    elif sum(standing.window) >= 2:
        standing.state = State.RECURRING
    standing.needed = (
        MOST_CLEAN if standing.has_returned else clean_needed(standing.faulty, standing.looks)
    )


def _see_clean(standing: Standing, look: Look) -> None:
    standing.clean_run += 1
    standing.faulty_run = 0
    standing.clean_since = standing.clean_since or look.day
    if standing.state not in OPEN:
        return
    is_long = look.day - standing.clean_since >= CLEAN_SPAN
    if standing.clean_run >= standing.needed and is_long:
        standing.state = State.FIXED
    elif standing.state != State.NEW and standing.clean_run >= CLEAN_TO_IMPROVE:
        standing.state = State.IMPROVING


def is_not_seen_lately(last_look: date, *, sessions_since: int, on: date) -> bool:
    """Of an open item; `sessions_since` are the swimmer's reviewed sessions after that look.
    Asked when somebody reads, since it changes by waiting alone."""
    return on - last_look > UNSEEN_AFTER or sessions_since >= UNSEEN_SESSIONS
