"""A club's words as a file that it can leave with: rows in TOML or CSV. Knows no database.

Both hold the same. A row of everybody's words carries what the club made of it in the columns
that begin with `our`; only these, and the rows that are the club's own, are ever taken in again.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields
from io import StringIO
from typing import Any, get_type_hints

import tomli_w

FORMAT = 1
EVERYBODY, CLUB = "everybody", "club"
# A sheet must not take what somebody wrote for a sum; one sign more is taken away again.
SUMS = ("=", "+", "-", "@", "\t", "\r", "'")
YES = "yes"


class Unreadable(Exception):
    """The file is none of ours. Read by whoever sent it."""


@dataclass(frozen=True, kw_only=True)
class Row:
    table: str
    slug: str
    whose: str
    name: str
    strokes: tuple[str, ...] = ()
    phase: str = ""
    text: str = ""
    """What is good, seen, swum or ruled."""
    cost: str = ""
    cue: str = ""
    cue_young: str = ""
    checkpoint: str = ""
    severity: str = ""
    dose: str = ""
    equipment: str = ""
    also: tuple[str, ...] = ()
    drills: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    our_name: str = ""
    our_cue: str = ""
    our_cue_young: str = ""
    our_drills: tuple[str, ...] = ()
    left_out: bool = False


COLUMNS = tuple(field.name for field in fields(Row))
HINTS = get_type_hints(Row)


@dataclass(frozen=True)
class Lexicon:
    rows: tuple[Row, ...]
    rule_book: str = ""
    """CSV has no place for it."""


def as_toml(lexicon: Lexicon) -> str:
    words = [
        {key: list(value) if isinstance(value, tuple) else value for key, value in row if value}
        for row in (asdict(row).items() for row in lexicon.rows)
    ]
    book = {"rule_book": lexicon.rule_book} if lexicon.rule_book else {}
    return tomli_w.dumps({"format": FORMAT, **book, "words": words})


def from_toml(text: str) -> Lexicon:
    """Raises Unreadable."""
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Unreadable(f"This is not TOML: {error}.") from error
    if content.get("format") != FORMAT:
        raise Unreadable(f"Format {content.get('format')!r} is not known; {FORMAT} is.")
    words, book = content.get("words", []), content.get("rule_book", "")
    if not isinstance(words, list) or not isinstance(book, str):
        raise Unreadable("“words” has to be a list of tables and “rule_book” words.")
    return Lexicon(tuple(_row(raw, f"words {at}") for at, raw in enumerate(words, 1)), book)


def as_csv(lexicon: Lexicon) -> str:
    sheet = StringIO(newline="")
    # Every cell in quotation marks: a lone carriage return is kept only there.
    writer = csv.writer(sheet, quoting=csv.QUOTE_ALL)
    writer.writerow(COLUMNS)
    for row in lexicon.rows:
        writer.writerow([_cell(getattr(row, column)) for column in COLUMNS])
    return sheet.getvalue()


def from_csv(text: str) -> Lexicon:
    """Columns in any order; those that are missing are empty. Raises Unreadable."""
    reader = csv.reader(StringIO(text.removeprefix("\ufeff"), newline=""))
    try:
        heads, *lines = list(reader) or [[]]
    except csv.Error as error:
        raise Unreadable(f"This is no sheet of comma-separated values: {error}.") from error
    return Lexicon(tuple(_lines(heads, lines)))


def _lines(heads: Sequence[str], lines: Sequence[Sequence[str]]) -> Iterator[Row]:
    for at, line in enumerate(lines, 2):
        if not any(line):
            continue
        if len(line) > len(heads):
            raise Unreadable(f"Line {at} has {len(line)} cells and the first line {len(heads)}.")
        raw = {head: _value(head, cell) for head, cell in zip(heads, line, strict=False) if cell}
        yield _row(raw, f"Line {at}")


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return YES if value else ""
    said = "\n".join(value) if isinstance(value, tuple) else str(value)
    return f"'{said}" if said.startswith(SUMS) else said


def _value(column: str, cell: str) -> object:
    said = cell.removeprefix("'")
    hint = HINTS.get(column)
    if hint is bool:
        return said.strip().lower() == YES
    return said.split("\n") if hint == tuple[str, ...] else said


def _row(raw: Any, where: str) -> Row:  # noqa: ANN401
    if not isinstance(raw, dict):
        raise Unreadable(f"{where}: {raw!r} is no table of words.")
    values: dict[str, Any] = {}
    for key, value in raw.items():
        if key not in HINTS:
            raise Unreadable(f"{where}: unknown column {key!r}. Known: {', '.join(COLUMNS)}.")
        values[key] = tuple(value) if isinstance(value, list) else value
        hint = HINTS[key]
        if not isinstance(values[key], tuple if hint == tuple[str, ...] else hint) or (
            isinstance(values[key], tuple) and not all(isinstance(each, str) for each in value)
        ):
            raise Unreadable(f"{where}: {key} is {value!r}, which does not belong there.")
    missing = {"table", "slug", "whose", "name"} - values.keys()
    if missing:
        raise Unreadable(f"{where}: {', '.join(sorted(missing))} is missing.")
    return Row(**values)
