"""How old somebody is on a day, and what changes with it."""

from __future__ import annotations

from datetime import date

# From then on what somebody's guardians answered counts no more, and they need leave to read.
GROWN_UP = 18
# Younger ones have no sign-in of their own; older ones once a guardian has agreed.
OWN_SIGN_IN = 13


def age(born: date, *, on: date) -> int:
    """Full years; somebody born on 29 February turns a year older on 1 March. Local law decides
    in the end, so no club is asked to rely on that one day."""
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def last_birthday(years: int, *, on: date) -> date:
    """Whoever was born on this day or before it is at least so old: `age` for databases."""
    try:
        return on.replace(year=on.year - years)
    except ValueError:
        return on.replace(year=on.year - years, day=28)
