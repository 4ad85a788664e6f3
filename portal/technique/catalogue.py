"""The files in `data/` are the truth; the rows follow them by slug, as often as one likes.

A term that the files close is retired: old comments go on naming it, new ones cannot. One that is
merged points at the other; one that is split only says what took over. Nothing that was said is
ever rewritten. A club's own words are none of this file's business.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from portal.technique.models import (
    Caution,
    Checkpoint,
    Drill,
    Edition,
    Equipment,
    Fault,
    Rule,
    Term,
)
from portal.technique.reading import (
    ADVICE,
    FOLDER,
    BadCatalogue,
    Entry,
    RetiredEntry,
    TermEntry,
    read,
)

Word = Term | Caution | Equipment
ORDER: tuple[tuple[str, type[Word]], ...] = (
    ("cautions", Caution),
    ("equipment", Equipment),
    ("rules", Rule),
    ("drills", Drill),
    ("checkpoints", Checkpoint),
    ("faults", Fault),
)
TABLES = (*(table for table, _ in ORDER), "retired")
# Links by the table that they point into.
LINKS = {"drills": "drills", "rules": "rules", "cautions": "cautions", "things": "equipment"}
# Kept as text with a space around each word; see `Term.strokes`.
LISTS = frozenset({"strokes", "views"})
JSON = frozenset({"citations", "also", "published"})


@dataclass(frozen=True)
class Change:
    what: str
    """added, changed or retired."""
    table: str
    slug: str

    def __str__(self) -> str:
        return f"{self.what} {self.table} {self.slug}"


@dataclass(frozen=True)
class Loaded:
    changes: tuple[Change, ...]
    entries: dict[str, int]
    """How many of each stand in the files."""

    @property
    def counts(self) -> Counter[str]:
        return Counter(change.what for change in self.changes)


@dataclass
class _Rows:
    """Ids by table and slug, and what has changed so far."""

    ids: dict[str, dict[str, int]] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)


def load(folder: Path = FOLDER, *, at: datetime | None = None) -> Loaded:
    """Make the rows what the files say, in one transaction. Raises BadCatalogue."""
    catalogue = read(folder)
    with transaction.atomic():
        rows = _Rows()
        for table, model in ORDER:
            entries = getattr(catalogue, table)
            _settle(table, model, entries, rows)
            if issubclass(model, Term):
                closed = [entry for entry in catalogue.retired if entry.table == table]
                _retire(table, model, entries, closed, rows)
        loaded = Loaded(
            changes=tuple(rows.changes),
            entries={table: len(getattr(catalogue, table)) for table in TABLES},
        )
        if rows.changes or not Edition.objects.exists():
            last = Edition.objects.first()
            number = last.number + 1 if last else 1
            Edition.objects.create(number=number, loaded_at=at, counts=dict(loaded.counts))
        return loaded


def rehearse(folder: Path = FOLDER) -> Loaded:
    """What `load` would change. Everything is undone again."""
    with transaction.atomic():
        loaded = load(folder)
        transaction.set_rollback(True)
    return loaded


def _settle(table: str, model: type[Word], entries: Sequence[Entry], rows: _Rows) -> None:
    """One query, and one for each kind of link, when nothing has changed."""
    stored = {row.slug: row for row in _shared(model)}
    done: dict[str, str] = {}
    fresh: list[Any] = []
    for place, entry in enumerate(entries):
        row, columns = stored.get(entry.slug), _columns(entry, place, rows)
        if row is None:
            row = model()
            fresh.append(row)
            done[entry.slug] = "added"
        elif all(getattr(row, key) == value for key, value in columns.items()):
            continue
        _fill(row, columns)
        if entry.slug not in done:
            row.save()
            done[entry.slug] = "changed"
    model._default_manager.bulk_create(fresh)
    rows.ids[table] = {row.slug: row.pk for row in [*stored.values(), *fresh]}
    for link in model._meta.many_to_many:
        for slug in _link(link, entries, rows.ids[table], rows.ids[LINKS[link.name]]):
            done.setdefault(slug, "changed")
    rows.changes += [
        Change(done[entry.slug], table, entry.slug) for entry in entries if entry.slug in done
    ]


def _link(
    link: models.ManyToManyField[Any, Any],
    entries: Sequence[Entry],
    holders: Mapping[str, int],
    held: Mapping[str, int],
) -> list[str]:
    """Make this kind of link what the entries say; gives the slugs whose links changed."""
    one, other = f"{link.m2m_field_name()}_id", f"{link.m2m_reverse_field_name()}_id"
    through: Any = link.remote_field.through
    rows = through._default_manager
    ids = {holders[entry.slug]: entry for entry in entries}
    stored = set(rows.filter(**{f"{one}__in": ids}).values_list(one, other))
    wanted = {
        (holder, held[slug]) for holder, entry in ids.items() for slug in getattr(entry, link.name)
    }
    gone, new = stored - wanted, sorted(wanted - stored)
    for holder in {pair[0] for pair in gone}:
        ends = [pair[1] for pair in gone if pair[0] == holder]
        rows.filter(**{one: holder, f"{other}__in": ends}).delete()
    rows.bulk_create([rows.model(**{one: holder, other: end}) for holder, end in new])
    return [ids[holder].slug for holder, _end in gone | set(new)]


def _shared(model: type[Word]) -> models.QuerySet[Any]:
    rows: models.QuerySet[Any] = model._default_manager.all()
    return rows.filter(club=None) if issubclass(model, Term) else rows


def _retire(
    table: str,
    model: type[Term],
    entries: Sequence[Entry],
    closed: Sequence[RetiredEntry],
    rows: _Rows,
) -> None:
    """Close what the files close; what only vanished from them is refused."""
    here, known = {entry.slug for entry in entries}, {entry.slug: entry for entry in closed}
    for row in _shared(model).exclude(slug__in=here):
        entry = known.get(row.slug)
        if entry is None and not row.is_retired:
            raise BadCatalogue(_vanished(table, row, entries))
        if entry and _close(row, entry, rows.ids[table]):
            rows.changes.append(Change("retired", table, row.slug))


def _vanished(table: str, row: Term, entries: Sequence[Entry]) -> str:
    new = [entry.slug for entry in entries if entry.name == row.name]
    hint = f" Its name is now that of {new[0]!r}." if new else ""
    return f"{table} {row.slug!r} is known and stands in no file any more.{hint} {ADVICE}"


def _close(row: Term, entry: RetiredEntry, ids: Mapping[str, int]) -> bool:
    columns = {
        "is_retired": True,
        "because": entry.because,
        "merged_into_id": ids[entry.merged_into] if entry.merged_into else None,
        "split_into": list(entry.split_into),
    }
    if all(getattr(row, key) == value for key, value in columns.items()):
        return False
    _fill(row, columns)
    row.save(update_fields=list(columns))
    return True


def _columns(entry: Entry, place: int, rows: _Rows) -> dict[str, object]:
    columns = {key: value for key, value in asdict(entry).items() if key not in LINKS}
    if isinstance(entry, TermEntry):
        columns |= {"order": place, "is_retired": False, "because": ""}
        columns |= {"merged_into_id": None, "split_into": []}
    for key in LISTS & columns.keys():
        columns[key] = f" {' '.join(getattr(entry, key))} "
    for key in JSON & columns.keys():
        columns[key] = list(columns[key])
    if "checkpoint" in columns:
        columns["checkpoint_id"] = rows.ids["checkpoints"][columns.pop("checkpoint")]
    return columns


def _fill(row: Word, columns: Mapping[str, object]) -> None:
    for key, value in columns.items():
        setattr(row, key, value)
    try:
        row.clean_fields(exclude=["checkpoint"])
    except ValidationError as error:
        raise BadCatalogue(f"{row.slug!r} does not fit: {error.message_dict}.") from error
