"""Putting swimmers down for events."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from django.db import transaction

from portal.clubhouse.folding import folded
from portal.meets import parsing
from portal.meets.models import Entry, Meet
from portal.meets.parsing import Event, Fault, Line
from portal.people.models import Swimmer


@dataclass(frozen=True)
class Taken:
    """What became of a pasted list."""

    entries: int
    known: int
    """Entries that stood there before."""
    left: list[Line]
    """Lines with a fault, of which nothing was taken."""

    @property
    def rest(self) -> str:
        """As they were typed, to be mended."""
        return "\n".join(line.text for line in self.left)


@transaction.atomic
def take(meet: Meet, text: str, *, swimmers: Collection[Swimmer]) -> Taken:
    """Every line that can be read. Names are looked for among `swimmers` only."""
    by_name = _by_name(swimmers)
    left: list[Line] = []
    wanted: list[tuple[Swimmer, Event]] = []
    for line in parsing.lines(text):
        found = by_name.get(_key(line.name), [])
        if line.fault is None and len(found) != 1:
            line = replace(line, fault=Fault.TWO if found else Fault.NOBODY, about=line.name)
        if line.fault is not None:
            left.append(line)
        else:
            wanted += [(found[0], event) for event in line.events]
    new = enter(meet, wanted)
    return Taken(entries=new, known=len(set(wanted)) - new, left=left)


def enter(meet: Meet, wanted: Iterable[tuple[Swimmer, Event]]) -> int:
    """How many are new; whoever is entered already stays so."""
    keys = {(swimmer.pk, event) for swimmer, event in wanted}
    there = {(entry.swimmer_id, entry.event) for entry in meet.entries.all()}
    new = keys - there
    Entry.objects.bulk_create(
        (Entry(meet=meet, swimmer_id=swimmer, **event._asdict()) for swimmer, event in sorted(new)),
        ignore_conflicts=True,
    )
    return len(new)


def _by_name(swimmers: Iterable[Swimmer]) -> dict[tuple[str, ...], list[Swimmer]]:
    found: dict[tuple[str, ...], list[Swimmer]] = {}
    for swimmer in swimmers:
        found.setdefault(_key(swimmer.name), []).append(swimmer)
    return found


def _key(name: str) -> tuple[str, ...]:
    """`Falk, Ines` and `ines falk` are one."""
    return tuple(sorted(folded(name).split()))
