"""A squad's people as a list that `parsing` reads back without finding anything changed."""

from __future__ import annotations

import csv
import io

from portal.people.models import Squad
from portal.roster.gathering import Person
from portal.roster.parsing import FORMULA, GUARDIANS, Column


def as_csv(people: list[Person], squad: Squad, *, with_addresses: bool) -> str:
    """Never a swimmer's own address. Guardians whose invitation waits stand in it, too."""
    columns = (
        [*Column] if with_addresses else [c for c in Column if c not in dict(GUARDIANS).values()]
    )
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([column.value for column in columns])
    for person in people:
        cells = _cells(person, squad)
        writer.writerow([guarded(cells.get(column, "")) for column in columns])
    return out.getvalue()


def guarded(cell: str) -> str:
    """Spreadsheets take cells that begin so for formulas, and would work them out."""
    return f"'{cell}" if cell.startswith((*FORMULA, "\x00", "\n")) else cell


def _cells(person: Person, squad: Squad) -> dict[Column, str]:
    swimmer = person.swimmer
    cells = {
        Column.FIRST: swimmer.first_name,
        Column.LAST: swimmer.last_name,
        Column.BORN: swimmer.born.isoformat(),
        Column.SQUAD: squad.name,
    }
    known = [each.tie for each in person.guardians if each.state not in ("barred", "grown")]
    for (name, address), tie in zip(GUARDIANS, known, strict=False):
        cells |= {name: tie.name, address: tie.guardian.email}
    return cells
