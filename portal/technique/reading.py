"""The catalogue's files as checked, typed entries. Nothing here touches the database."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import MISSING, dataclass, fields
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar, get_type_hints

from portal.technique.models import Fault, Phase, RuleBook, Stroke

FOLDER = Path(__file__).parent / "data"
# Every slug that ever stood in a file, a table and a slug a line. Lines are only added.
LEDGER = "ledger.txt"
# Camera views stand on a floor above; a test keeps the two lists the same.
VIEWS = frozenset(
    f"{where}-{how}"
    for where in ("side", "front", "rear", "wall")
    for how in ("underwater", "deck")
) | {"overhead", "block", "entry-underwater"}
CERTAINTIES = frozenset({"verified", "part", "from memory"})


ADVICE = (
    "Slugs are for ever: put it back and change its name only, or list it under [[retired]] with "
    "the reason."
)


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
    published: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class EquipmentEntry(Entry):
    text: str


@dataclass(frozen=True, kw_only=True)
class RetiredEntry(Entry):
    """A slug that is closed: old comments keep it, new ones cannot have it."""

    table: str
    because: str
    merged_into: str = ""
    """Another slug means the same, and is read in its place."""
    split_into: tuple[str, ...] = ()
    """Several take over from zero; what was said before is not shared out among them."""


@dataclass(frozen=True, kw_only=True)
class TermEntry(Entry):
    strokes: tuple[str, ...]
    phase: str


@dataclass(frozen=True, kw_only=True)
class RuleEntry(TermEntry):
    paraphrase: str
    seen_when_broken: str
    applies: str
    views: tuple[str, ...]
    """Any of them makes it sure; on others it may only be suspected."""
    citations: tuple[Citation, ...]
    picture: str = ""
    """What else has to be in the picture."""
    differs: str = ""


@dataclass(frozen=True, kw_only=True)
class DrillEntry(TermEntry):
    how: str
    dose: str
    equipment: str = ""
    things: tuple[str, ...] = ()
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
    published: tuple[str, ...] = ()
    """What a paper or statement says; all else is common practice."""


@dataclass(frozen=True)
class Catalogue:
    """All entries, in the order of the files and of the lines in them."""

    cautions: tuple[CautionEntry, ...]
    equipment: tuple[EquipmentEntry, ...]
    rules: tuple[RuleEntry, ...]
    drills: tuple[DrillEntry, ...]
    checkpoints: tuple[CheckpointEntry, ...]
    faults: tuple[FaultEntry, ...]
    retired: tuple[RetiredEntry, ...]


SHAPES: dict[str, type[Entry]] = {
    "cautions": CautionEntry,
    "equipment": EquipmentEntry,
    "rules": RuleEntry,
    "drills": DrillEntry,
    "checkpoints": CheckpointEntry,
    "faults": FaultEntry,
    "retired": RetiredEntry,
}
LASTING = ("rules", "drills", "checkpoints", "faults")
# Which words a field may hold, and into which table its slugs point.
WORDS: dict[str, Collection[str]] = {
    "strokes": {*Stroke.values, "any"},
    "phase": Phase.values,
    "views": VIEWS,
    "severity": Fault.Severity.values,
    "certainty": CERTAINTIES,
    "book": RuleBook.values,
    "table": LASTING,
}
TARGETS = {
    "checkpoint": "checkpoints",
    "drills": "drills",
    "rules": "rules",
    "cautions": "cautions",
    "things": "equipment",
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
            _check_unique(entry, table, path.name, places)
            tables[table].append(entry)
    catalogue = Catalogue(**{table: tuple(entries) for table, entries in tables.items()})  # type: ignore[arg-type]
    _check_references(tables, places)
    _check_names(tables, places)
    _check_retired(catalogue.retired, places)
    _check_ledger(folder / LEDGER, places)
    return catalogue


def _check_unique(entry: Entry, table: str, file: str, places: Places) -> None:
    # A fault and a drill may share a slug, so a closed one is known by both its words.
    key = f"{entry.table} {entry.slug}" if isinstance(entry, RetiredEntry) else entry.slug
    if key in places[table]:
        raise BadCatalogue(
            f"{file}: {table} {key!r} stands in {places[table][key]} already. "
            "Slugs are for ever: choose another."
        )
    places[table][key] = file


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
    if not known:
        return ""
    return f" Did you mean {close[0]!r}?" if close else f" Known: {', '.join(sorted(known))}."


def _check_references(tables: dict[str, list[Entry]], places: Places) -> None:
    """Every slug points at an entry; no caution, thing, rule, drill or checkpoint stands unused."""
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


def _check_names(tables: dict[str, list[Entry]], places: Places) -> None:
    """Two terms of one table never have the same name: nobody could tell them apart."""
    for table in LASTING:
        named: dict[str, Entry] = {}
        for entry in tables[table]:
            other = named.setdefault(entry.name.casefold(), entry)
            if other is not entry:
                raise BadCatalogue(
                    f"{places[table][entry.slug]}: {table} {entry.slug!r} has the name of "
                    f"{other.slug!r}: {entry.name!r}. Say what tells them apart."
                )


def _check_retired(retired: Sequence[RetiredEntry], places: Places) -> None:
    """A closed slug stands nowhere else, and whoever takes over is not closed."""
    for entry in retired:
        where = f"{places['retired'][f'{entry.table} {entry.slug}']}: retired {entry.slug!r}"
        if entry.slug in places[entry.table]:
            raise BadCatalogue(
                f"{where} still stands in {places[entry.table][entry.slug]}. Take out one of them."
            )
        if entry.merged_into and entry.split_into:
            raise BadCatalogue(f"{where} is merged and split. Say one of them.")
        heirs = [entry.merged_into] if entry.merged_into else entry.split_into
        for heir in heirs:
            if heir not in places[entry.table]:
                raise BadCatalogue(
                    f"{where}: {heir!r}, which takes over, is none of the {entry.table}."
                    f"{_hint(heir, places[entry.table])}"
                )


def _check_ledger(ledger: Path, places: Places) -> None:
    """No slug is renamed or reused: all that ever stood here still do, or are closed."""
    if not ledger.exists():
        return
    known = set(ledger.read_text(encoding="utf-8").splitlines())
    here = {f"{table} {slug}" for table in LASTING for slug in places[table]}
    closed = places["retired"].keys()
    gone = sorted(known - here - closed)
    if gone:
        table, slug = gone[0].split(" ")
        raise BadCatalogue(
            f"{ledger.name}: {table} {slug!r} stands in no file any more. {ADVICE}"
            f"{_hint(slug, {new.split(' ')[1] for new in here - known if new.startswith(table)})}"
        )
    new = sorted((here | closed) - known)
    if new:
        raise BadCatalogue(
            f"{ledger.name}: {new[0]!r} is new. A slug is for ever: if it is well chosen, add the "
            "line."
        )
