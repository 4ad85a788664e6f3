"""A list of swimmers as a club keeps it, from a spreadsheet's file or its clipboard. Knows no
Django: faults are named here and put into words where they are shown.

Nothing is guessed about a child: what can be read in two ways is asked about.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum

from portal.roster import dating

MOST_LINES = 500
MOST_BYTES = 1024 * 1024
OLDEST = 100
LONGEST_PART, LONGEST_NAME, LONGEST_ADDRESS = 60, 120, 254

# With these a spreadsheet takes a cell for a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
ADDRESS = re.compile(r"[\w.!#$%&'*+/=?^`{|}~-]{1,64}@([a-z\d-]+\.)+[a-z\d-]{2,}", re.ASCII)


class Column(StrEnum):
    FIRST = "first name"
    LAST = "last name"
    BORN = "born"
    SQUAD = "squad"
    NAME_1 = "guardian 1 name"
    ADDRESS_1 = "guardian 1 address"
    NAME_2 = "guardian 2 name"
    ADDRESS_2 = "guardian 2 address"


NEEDED = (Column.FIRST, Column.LAST, Column.BORN)
GUARDIANS = ((Column.NAME_1, Column.ADDRESS_1), (Column.NAME_2, Column.ADDRESS_2))
LONGEST = {
    **dict.fromkeys((Column.FIRST, Column.LAST, Column.SQUAD), LONGEST_PART),
    **dict.fromkeys((Column.NAME_1, Column.NAME_2), LONGEST_NAME),
}
# How lists name them, in small letters, without spaces and signs.
NAMES: Mapping[Column, str] = {
    Column.FIRST: "firstname first givenname forename vorname",
    Column.LAST: "lastname last surname familyname nachname",
    Column.BORN: "born bornon birthday birthdate dateofbirth dob geburtsdatum",
    Column.SQUAD: "squad squadname group team",
    Column.NAME_1: "guardian1name guardian1 guardian guardianname parent1name parent1 parent",
    Column.ADDRESS_1: "guardian1address guardian1mail guardian1email guardianemail parent1address"
    " parent1mail parent1email parentemail email mail",
    Column.NAME_2: "guardian2name guardian2 parent2name parent2",
    Column.ADDRESS_2: "guardian2address guardian2mail guardian2email parent2address parent2mail"
    " parent2email email2 mail2",
}
KNOWN = {name: column for column, names in NAMES.items() for name in names.split()}


class Trouble(StrEnum):
    """Why a list as a whole cannot be read."""

    EMPTY = "empty"
    NO_TEXT = "no text"
    NO_COLUMNS = "no columns"
    COLUMN_TWICE = "column twice"
    TOO_LONG = "too long"


class Unreadable(Exception):
    def __init__(self, trouble: Trouble, columns: Sequence[Column] = ()) -> None:
        super().__init__(
            f"The list cannot be read: {trouble.value!r} {[column.value for column in columns]}. "
            "It takes text whose first line names the columns."
        )
        self.trouble = trouble
        self.columns = columns


class Fault(StrEnum):
    MISSING = "missing"
    TOO_LONG = "too long"
    NO_DATE = "no date"
    TWO_DATES = "two dates"
    NOT_YET = "not yet"
    LONG_AGO = "long ago"
    NO_ADDRESS = "no address"
    SAME_ADDRESS = "same address"
    TWICE = "twice"
    MORE_CELLS = "more cells"


@dataclass(frozen=True)
class Named:
    """A guardian as the list names them; the address in small letters."""

    name: str
    address: str


@dataclass(frozen=True)
class Line:
    """One swimmer. What it holds can be relied on only without faults."""

    number: int
    """Where it begins in the list; the line with the columns' names is 1."""
    first_name: str
    last_name: str
    born: date | None
    born_as_typed: str
    squad: str
    guardians: tuple[Named, ...]
    faults: tuple[tuple[Column, Fault], ...] = ()

    @property
    def name(self) -> str:
        return f"{self.first_name} {self.last_name}".strip()

    @property
    def key(self) -> tuple[str, str, date | None]:
        return self.first_name.casefold(), self.last_name.casefold(), self.born


@dataclass(frozen=True)
class Listed:
    lines: list[Line] = field(default_factory=list)
    columns: frozenset[Column] = frozenset()
    unread: list[str] = field(default_factory=list)
    """Columns that the portal has no place for, as the list names them."""

    @property
    def has_faults(self) -> bool:
        return any(line.faults for line in self.lines)

    @property
    def two_dates(self) -> str:
        """A date that can be read in two ways; empty if there is none."""
        faulty = (line for line in self.lines if (Column.BORN, Fault.TWO_DATES) in line.faults)
        return next((line.born_as_typed for line in faulty), "")


def text_of(content: bytes) -> str:
    """As spreadsheets save it: UTF-16 with its mark, UTF-8 with or without, or one byte a letter.
    Raises Unreadable for what is no text."""
    is_wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if is_wide else ("utf-8-sig", "cp1252", "latin-1"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise Unreadable(Trouble.NO_TEXT)


def parse(text: str, *, today: date, order: dating.Order | None = None) -> Listed:
    """Raises Unreadable. `order` is the answer to a date that can be read in two ways."""
    if len(text) > MOST_BYTES:
        raise Unreadable(Trouble.TOO_LONG)
    if "\x00" in text:
        raise Unreadable(Trouble.NO_TEXT)
    rows = [(number, row) for number, row in _rows(text.lstrip("\ufeff")) if any(row)]
    if not rows:
        raise Unreadable(Trouble.EMPTY)
    (_number, header), *rows = rows
    places = _places(header)
    if len(rows) > MOST_LINES:
        raise Unreadable(Trouble.TOO_LONG)
    cells = [(number, _cells(row, places), len(row) > len(header)) for number, row in rows]
    order = order or dating.order_of(each[Column.BORN] for _number, each, _more in cells)
    lines = [
        _line(number, each, has_more=has_more, today=today, order=order)
        for number, each, has_more in cells
    ]
    unread = [cell for place, cell in enumerate(header) if cell and place not in places.values()]
    return Listed(_twice(lines), frozenset(places), unread)


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Cut at the sign that cuts the first line into most of the columns that are known."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    sign = max("\t;,", key=lambda sign: sum(_plain(cell) in KNOWN for cell in first.split(sign)))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    number = 1
    try:
        for row in reader:
            cells = [tidy(cell) for cell in row]
            while cells and not cells[-1]:
                cells.pop()
            yield number, cells
            number = reader.line_num + 1
    except csv.Error as error:
        raise Unreadable(Trouble.NO_TEXT) from error


def tidy(cell: str) -> str:
    """On one line, without what cannot be seen, and without the mark that keeps a spreadsheet
    from taking it for a formula."""
    spaced = (" " if sign.isspace() else sign for sign in unicodedata.normalize("NFC", cell))
    words = " ".join("".join(s for s in spaced if s == " " or s.isprintable()).split())
    return words[1:] if words.startswith("'") and words[1:].startswith(FORMULA) else words


def _plain(cell: str) -> str:
    return "".join(sign for sign in cell.casefold() if sign.isalnum())


def _places(header: Sequence[str]) -> dict[Column, int]:
    known = [(KNOWN.get(_plain(cell)), place) for place, cell in enumerate(header)]
    found = [(column, place) for column, place in known if column]
    counts = Counter(column for column, _place in found)
    if twice := [column for column, count in counts.items() if count > 1]:
        raise Unreadable(Trouble.COLUMN_TWICE, twice)
    if missing := [column for column in NEEDED if column not in counts]:
        raise Unreadable(Trouble.NO_COLUMNS, missing)
    return dict(found)


def _cells(row: Sequence[str], places: Mapping[Column, int]) -> dict[Column, str]:
    """All columns; what the list does not say is empty."""
    said = {column: row[place] for column, place in places.items() if place < len(row)}
    return {column: said.get(column, "") for column in Column}


def _line(
    number: int,
    cells: Mapping[Column, str],
    *,
    has_more: bool,
    today: date,
    order: dating.Order | None,
) -> Line:
    born, fault = _born(cells[Column.BORN], today=today, order=order)
    faults = list(_faults(cells))
    if fault:
        faults.append((Column.BORN, fault))
    if has_more:
        faults.append((Column.FIRST, Fault.MORE_CELLS))
    return Line(
        number=number,
        first_name=cells[Column.FIRST],
        last_name=cells[Column.LAST],
        born=born,
        born_as_typed=cells[Column.BORN],
        squad=cells[Column.SQUAD],
        guardians=tuple(
            Named(cells[name], cells[address].lower())
            for name, address in GUARDIANS
            if cells[name] or cells[address]
        ),
        faults=tuple(faults),
    )


def _born(
    words: str, *, today: date, order: dating.Order | None
) -> tuple[date | None, Fault | None]:
    if not words:
        return None, Fault.MISSING
    try:
        born = dating.read(words, today=today, order=order)
    except dating.NoDate:
        return None, Fault.NO_DATE
    except dating.TwoDates:
        return None, Fault.TWO_DATES
    return born, implausible(born, today=today)


def implausible(born: date, *, today: date) -> Fault | None:
    if born >= today:
        return Fault.NOT_YET
    return Fault.LONG_AGO if today.year - born.year > OLDEST else None


def _faults(cells: Mapping[Column, str]) -> Iterator[tuple[Column, Fault]]:
    """Of the cells with words in them."""
    yield from ((column, Fault.MISSING) for column in NEEDED[:2] if not cells[column])
    for column, most in LONGEST.items():
        if len(cells[column]) > most:
            yield column, Fault.TOO_LONG
    for pair in GUARDIANS:
        if any(cells[column] for column in pair):
            yield from ((column, Fault.MISSING) for column in pair if not cells[column])
    for _name, address in GUARDIANS:
        if cells[address] and not is_address(cells[address]):
            yield address, Fault.NO_ADDRESS
    one, other = (cells[address].lower() for _name, address in GUARDIANS)
    if one and one == other:
        yield Column.ADDRESS_2, Fault.SAME_ADDRESS


def is_address(words: str) -> bool:
    return len(words) <= LONGEST_ADDRESS and bool(ADDRESS.fullmatch(words.lower()))


def _twice(lines: list[Line]) -> list[Line]:
    """Mark every line about a swimmer whom an earlier one names already."""
    seen = set()
    marked = []
    for line in lines:
        if line.born and line.key in seen:
            line = replace(line, faults=(*line.faults, (Column.FIRST, Fault.TWICE)))
        seen.add(line.key)
        marked.append(line)
    return marked
