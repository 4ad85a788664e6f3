"""Looks as strings: 1 faulty, 0 clean, . for a session in which nobody looked."""

from __future__ import annotations

from datetime import date, timedelta

from portal.items.recurrence import Look

START = date(2026, 1, 5)


def look(number: int, faulty: int, good: int, *, days: int = 7) -> Look:
    return Look(number, START + timedelta(days=days * number), faulty, good)


def looks(signs: str, *, days: int = 7) -> list[Look]:
    return [
        look(number, int(sign == "1"), int(sign == "0"), days=days)
        for number, sign in enumerate(signs)
    ]
