"""How much an item asks for practice. Knows no database."""

from __future__ import annotations

from portal.items.recurrence import OPEN, State

NOT_LEGAL = 4
POINTS = {State.RETURNED: 3, State.RECURRING: 2, State.NEW: 1, State.IMPROVING: 1}


def points(state: State, *, is_not_legal: bool) -> int:
    """What practising an item is worth, 0 to 4."""
    if state not in OPEN:
        return 0
    return NOT_LEGAL if is_not_legal else POINTS[state]
