"""Entries as a club pastes them: a name, then events. Knows no Django.

A line is `Ines Falk; 100 breast; 200 IM`, with tabs, semicolons or commas between. Nothing is
guessed about a child: a name that fits nobody or more than one is asked about.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

DISTANCES = (25, 50, 100, 200, 400, 800, 1500, 500, 1000, 1650)
"""In metres and in yards (common practice)."""
LEGS = 4
MOST_LINES = 500
STROKES: Mapping[str, str] = {
    "free": "free fr freestyle crawl frontcrawl f",
    "back": "back bk backstroke ba backcrawl",
    "breast": "breast br breaststroke brs",
    "fly": "fly butterfly bf fl",
    "im": "im medley individualmedley mixed me",
}
KNOWN = {word: stroke for stroke, words in STROKES.items() for word in words.split()}
EVENT = re.compile(
    r"(?:(?P<legs>\d)\s*[x×*]\s*)?(?P<distance>\d{2,4})\s*(?:m|y|yd|yds|metres|meters|yards)?[\s.]+"
    r"(?P<words>[a-z .]+)",
    re.IGNORECASE,
)


class Event(NamedTuple):
    distance: int
    """Of one leg, if it is a relay."""
    stroke: str
    is_relay: bool = False


class Fault(StrEnum):
    NO_EVENT = "no event"
    NO_SUCH_EVENT = "no such event"
    NOBODY = "nobody"
    TWO = "two"


@dataclass(frozen=True)
class Line:
    text: str
    name: str
    events: tuple[Event, ...]
    fault: Fault | None = None
    about: str = ""
    """The part that cannot be read."""


def event(text: str) -> Event | None:
    """`100 breast`, `4 x 50 medley relay`; None if it is none."""
    found = EVENT.fullmatch(text.strip())
    if not found:
        return None
    words = re.sub(r"[ .]+", " ", found["words"].casefold()).split()
    is_relay = found["legs"] is not None or "relay" in words
    named = "".join(word for word in words if word not in ("relay", "r"))
    stroke, distance = KNOWN.get(named), int(found["distance"])
    is_real = distance in DISTANCES and found["legs"] in (None, str(LEGS))
    return Event(distance, stroke, is_relay) if stroke and is_real else None


def lines(text: str) -> Iterator[Line]:
    """Those with something in them, at most `MOST_LINES`."""
    written = [line.strip() for line in text.splitlines() if line.strip()]
    return map(_line, written[:MOST_LINES])


def _line(text: str) -> Line:
    divider = next((sign for sign in "\t;" if sign in text), ",")
    name, *cells = (cell.strip() for cell in text.split(divider))
    cells = [cell for cell in cells if cell]
    if not cells:
        return Line(text, name, (), Fault.NO_EVENT)
    read = [(cell, event(cell)) for cell in cells]
    wrong = next((cell for cell, found in read if found is None), None)
    if wrong is not None:
        return Line(text, name, (), Fault.NO_SUCH_EVENT, wrong)
    return Line(text, name, tuple(found for _cell, found in read if found))
