from __future__ import annotations

import pytest

from portal.items.pressing import points
from portal.items.recurrence import State


@pytest.mark.parametrize(
    ("state", "is_not_legal", "expected"),
    [
        (State.RETURNED, False, 3),
        (State.RECURRING, False, 2),
        (State.NEW, False, 1),
        (State.IMPROVING, False, 1),
        (State.NEW, True, 4),
        (State.FIXED, True, 0),
        (State.GOOD, False, 0),
    ],
)
def test_it_works(state: State, is_not_legal: bool, expected: int):
    assert points(state, is_not_legal=is_not_legal) == expected
