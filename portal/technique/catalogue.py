"""The files in `data/` are the truth; the rows follow them by slug, as often as one likes.

A term that left the files is retired: old comments go on naming it, new ones cannot. A caution
needs no retiring, since it is shown only where a term names it.
"""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from django.core.exceptions import ValidationError
from django.db import models, transaction

from portal.technique.models import Caution, Checkpoint, Drill, Edition, Fault, Rule, Term
from portal.technique.reading import FOLDER, BadCatalogue, Entry, TermEntry, read

ORDER: tuple[tuple[str, type[Term | Caution]], ...] = (
    ("cautions", Caution),
    ("rules", Rule),
    ("drills", Drill),
    ("checkpoints", Checkpoint),
    ("faults", Fault),
)
LINKS = frozenset({"drills", "rules", "cautions"})
# Kept as text with a space around each word; see `Term.strokes`.
LISTS = frozenset({"strokes", "views"})
JSON = frozenset({"citations", "also"})


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


def load(folder: Path = FOLDER) -> Loaded:
    """Make the rows what the files say, in one transaction. Raises BadCatalogue."""
    catalogue = read(folder)
    with transaction.atomic():
        rows = _Rows()
        for table, model in ORDER:
            entries = getattr(catalogue, table)
            _settle(table, model, entries, rows)
            if issubclass(model, Term):
                _retire(table, model, entries, rows)
        if rows.changes or not Edition.objects.exists():
            Edition.objects.update_or_create(pk=1, defaults={"stamp": uuid.uuid4()})
        return Loaded(
            changes=tuple(rows.changes),
            entries={table: len(getattr(catalogue, table)) for table, _ in ORDER},
        )


def rehearse(folder: Path = FOLDER) -> Loaded:
    """What `load` would change. Everything is undone again."""
    with transaction.atomic():
        loaded = load(folder)
        transaction.set_rollback(True)
    return loaded


def _settle(table: str, model: type[Term | Caution], entries: Sequence[Entry], rows: _Rows) -> None:
    """One query, and one for each kind of link, when nothing has changed."""
    manager = model._default_manager
    stored = {row.slug: row for row in manager.all()}
    links = {each.name: _linked(model, each.name) for each in model._meta.many_to_many}
    rows.ids[table] = {slug: row.pk for slug, row in stored.items()}
    for place, entry in enumerate(entries):
        row = stored.get(entry.slug)
        what = _write(model, row, _columns(entry, place, rows), rows.ids[table])
        for name, linked in links.items():
            wanted = {rows.ids[name][slug] for slug in getattr(entry, name)}
            if wanted != linked.get(rows.ids[table][entry.slug], set()):
                getattr(manager.get(slug=entry.slug), name).set(wanted)
                what = what or "changed"
        if what:
            rows.changes.append(Change(what, table, entry.slug))


def _retire(table: str, model: type[Term], entries: Sequence[Entry], rows: _Rows) -> None:
    gone = model._default_manager.filter(is_retired=False).exclude(
        slug__in=[entry.slug for entry in entries]
    )
    slugs = list(gone.values_list("slug", flat=True))
    if slugs:
        gone.update(is_retired=True)
    rows.changes += [Change("retired", table, slug) for slug in slugs]


def _linked(model: type[models.Model], name: str) -> dict[int, set[int]]:
    """Ids that the link `name` holds, by the id of the row that holds them."""
    linked: dict[int, set[int]] = {}
    for holder, held in model._default_manager.exclude(**{name: None}).values_list("pk", name):
        linked.setdefault(holder, set()).add(held)
    return linked


def _columns(entry: Entry, place: int, rows: _Rows) -> dict[str, object]:
    columns = {key: value for key, value in asdict(entry).items() if key not in LINKS}
    if isinstance(entry, TermEntry):
        columns |= {"order": place, "is_retired": False}
    for key in LISTS & columns.keys():
        columns[key] = f" {' '.join(getattr(entry, key))} "
    for key in JSON & columns.keys():
        columns[key] = list(columns[key])
    if "checkpoint" in columns:
        columns["checkpoint_id"] = rows.ids["checkpoints"][columns.pop("checkpoint")]
    return columns


def _write(
    model: type[Term | Caution],
    row: Term | Caution | None,
    columns: Mapping[str, object],
    ids: dict[str, int],
) -> str:
    """Add or change one row if need be; says which."""
    if row and all(getattr(row, key) == value for key, value in columns.items()):
        return ""
    fresh = row or model()
    for key, value in columns.items():
        setattr(fresh, key, value)
    try:
        fresh.clean_fields(exclude=["checkpoint"])
    except ValidationError as error:
        raise BadCatalogue(f"{columns['slug']!r} does not fit: {error.message_dict}.") from error
    fresh.save()
    ids[fresh.slug] = fresh.pk
    return "changed" if row else "added"
