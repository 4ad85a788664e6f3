"""The catalogue's files as checked, typed entries. Nothing here touches the database."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator
from dataclasses import MISSING, dataclass, fields
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar, get_type_hints

from portal.technique.models import Fault, Phase, Stroke

FOLDER = Path(__file__).parent / "data"
# Camera views stand on a floor above; a test keeps the two lists the same.
VIEWS = frozenset(
    f"{where}-{how}"
    for where in ("side", "front", "rear", "wall")
    for how in ("underwater", "deck")
) | {"overhead", "block", "entry-underwater"}
CERTAINTIES = frozenset({"verified", "part", "from memory"})


class BadCatalogue(Exception):
    """A file of the catalogue cannot be used. The message names file, entry and value."""


@dataclass(frozen=True, kw_only=True)
class Citation:
    """Where a rule stands in one book, and how sure we are of it."""

    book: str
    article: str
    certainty: str
    edition: str = ""
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Entry:
    slug: str
    name: str


@dataclass(frozen=True, kw_only=True)
class CautionEntry(Entry):
    text: str


@dataclass(frozen=True, kw_only=True)
class TermEntry(Entry):
    strokes: tuple[str, ...]
    phase: str


@dataclass(frozen=True, kw_only=True)
class RuleEntry(TermEntry):
    paraphrase: str
    seen_when_broken: str
    citations: tuple[Citation, ...]


@dataclass(frozen=True, kw_only=True)
class DrillEntry(TermEntry):
    how: str
    dose: str
    equipment: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CheckpointEntry(TermEntry):
    good: str


@dataclass(frozen=True, kw_only=True)
class FaultEntry(TermEntry):
    checkpoint: str
    severity: str
    views: tuple[str, ...]
    see: str
    cost: str
    cue: str
    cue_young: str
    drills: tuple[str, ...]
    rules: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    """What people say on the deck when they mean it; the finder knows these words too."""


@dataclass(frozen=True)
class Catalogue:
    """All entries, in the order of the files and of the lines in them."""

    cautions: tuple[CautionEntry, ...]
    rules: tuple[RuleEntry, ...]
    drills: tuple[DrillEntry, ...]
    checkpoints: tuple[CheckpointEntry, ...]
    faults: tuple[FaultEntry, ...]


SHAPES: dict[str, type[Entry]] = {
    "cautions": CautionEntry,
    "rules": RuleEntry,
    "drills": DrillEntry,
    "checkpoints": CheckpointEntry,
    "faults": FaultEntry,
}
# Which words a field may hold, and into which table its slugs point.
WORDS: dict[str, Collection[str]] = {
    "strokes": {*Stroke.values, "any"},
    "phase": Phase.values,
    "views": VIEWS,
    "severity": Fault.Severity.values,
    "certainty": CERTAINTIES,
}
TARGETS = {
    "checkpoint": "checkpoints",
    "drills": "drills",
    "rules": "rules",
    "cautions": "cautions",
}

EntryT = TypeVar("EntryT")
Places = dict[str, dict[str, str]]
"""Table, slug, file."""


def read(folder: Path = FOLDER) -> Catalogue:
    """Raises BadCatalogue."""
    tables: dict[str, list[Entry]] = {table: [] for table in SHAPES}
    places: Places = {table: {} for table in SHAPES}
    for path in sorted(folder.glob("*.toml")):
        for table, raw in _raw_entries(path):
            name = raw.get("slug", "without a slug") if isinstance(raw, dict) else raw
            entry = _entry(SHAPES[table], raw, f"{path.name}: {table} {name!r}")
            if entry.slug in places[table]:
                raise BadCatalogue(
                    f"{path.name}: {table} {entry.slug!r} stands in "
                    f"{places[table][entry.slug]} already. Slugs are for ever: choose another."
                )
            places[table][entry.slug] = path.name
            tables[table].append(entry)
    _check_references(tables, places)
    return Catalogue(**{table: tuple(entries) for table, entries in tables.items()})  # type: ignore[arg-type]


def _raw_entries(path: Path) -> Iterator[tuple[str, object]]:
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise BadCatalogue(f"{path.name}: is not TOML ({error}).") from error
    for table, entries in content.items():
        if table not in SHAPES or not isinstance(entries, list):
            raise BadCatalogue(f"{path.name}: unknown table {table!r}.{_hint(table, SHAPES)}")
        yield from ((table, raw) for raw in entries)


def _entry(shape: type[EntryT], raw: object, where: str) -> EntryT:
    if not isinstance(raw, dict):
        raise BadCatalogue(f"{where}: is not a table of keys and values.")
    known = {field.name: field for field in fields(shape)}  # type: ignore[arg-type]
    for key in raw:
        if key not in known:
            raise BadCatalogue(f"{where}: unknown key {key!r}.{_hint(key, known)}")
    hints = get_type_hints(shape)
    values: dict[str, object] = {}
    for key, field in known.items():
        if key in raw:
            values[key] = _value(key, raw[key], hints[key], where)
        elif field.default is MISSING:
            raise BadCatalogue(f"{where}: {key!r} is missing. Add a line `{key} = …`.")
    return shape(**values)


def _value(key: str, raw: object, hint: object, where: str) -> object:
    if hint is str:
        return _text(key, raw, where)
    if not isinstance(raw, list) or not raw:
        raise BadCatalogue(f"{where}: {key} is {raw!r}. Write a list with at least one value.")
    if hint == tuple[Citation, ...]:
        return tuple(_entry(Citation, each, where) for each in raw)
    return tuple(_text(key, each, where) for each in raw)


def _text(key: str, raw: object, where: str) -> str:
    if not isinstance(raw, str) or not raw.strip():
        raise BadCatalogue(f"{where}: {key} is {raw!r}. Write words in quotation marks.")
    if key in WORDS and raw not in WORDS[key]:
        raise BadCatalogue(f"{where}: unknown {key} {raw!r}.{_hint(raw, WORDS[key])}")
    return raw


def _hint(word: object, known: Collection[str]) -> str:
    close = get_close_matches(str(word), known, n=1)
    return f" Did you mean {close[0]!r}?" if close else f" Known: {', '.join(sorted(known))}."


def _check_references(tables: dict[str, list[Entry]], places: Places) -> None:
    """Every slug points at an entry; no caution, rule, drill or checkpoint stands unused."""
    used: dict[str, set[str]] = {table: set() for table in SHAPES}
    for table, entries in tables.items():
        for entry in entries:
            for key, target in TARGETS.items():
                value = getattr(entry, key, ())
                for slug in (value,) if isinstance(value, str) else value:
                    if slug not in places[target]:
                        raise BadCatalogue(
                            f"{places[table][entry.slug]}: {table} {entry.slug!r}: no file has "
                            f"the {key} {slug!r}.{_hint(slug, places[target])}"
                        )
                    used[target].add(slug)
    for target in TARGETS.values():
        for slug in sorted(places[target].keys() - used[target]):
            raise BadCatalogue(
                f"{places[target][slug]}: nothing names {target} {slug!r}. "
                "Name it in an entry, or take it out."
            )
