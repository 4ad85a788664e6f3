"""The squad's words as a family reads them.

They change only when the catalogue is loaded, so each process keeps them until the edition has
another stamp, and a page asks for one row instead of eight tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from portal.notes.asking import edition
from portal.technique.citing import named
from portal.technique.models import Caution, Checkpoint, Drill, Fault


@dataclass(frozen=True)
class FaultWords:
    good: str
    """The name of the checkpoint: what to do instead."""
    see: str
    rules: tuple[tuple[str, str], ...]
    """Name with the book, and what the rule says."""
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class DrillWords:
    name: str
    how: str
    dose: str
    equipment: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Words:
    """By the ids of checkpoints, faults and drills; retired ones too, as old comments name them."""

    checkpoints: Mapping[int, str]
    faults: Mapping[int, FaultWords]
    drills: Mapping[int, DrillWords]

    def title(self, checkpoint: int | None, fault: int | None) -> str:
        """As `Comment.title` has it."""
        if checkpoint:
            return self.checkpoints[checkpoint]
        return self.faults[fault].good if fault else _("no tag yet")


def words() -> Words:
    """One query, and six more once in each process after a load."""
    stamp = edition()
    # Before the first load there is nothing to tell old words from new ones.
    read = _keep if stamp else _read
    return read(stamp, get_language())


def _read(_stamp: str | None, _language: str | None) -> Words:
    faults = Fault.objects.select_related("checkpoint").prefetch_related("rules", "cautions")
    return Words(
        checkpoints=dict(Checkpoint.objects.values_list("id", "name")),
        faults={fault.id: _fault(fault) for fault in faults},
        drills={drill.id: _drill(drill) for drill in Drill.objects.prefetch_related("cautions")},
    )


# The last edition's words may still be asked for while a load is on its way.
_keep = lru_cache(maxsize=2)(_read)


def _fault(fault: Fault) -> FaultWords:
    rules = ((named(rule.name, rule.citations), rule.paraphrase) for rule in fault.rules.all())
    return FaultWords(fault.checkpoint.name, fault.see, tuple(rules), _cautions(fault))


def _drill(drill: Drill) -> DrillWords:
    return DrillWords(drill.name, drill.how, drill.dose, drill.equipment, _cautions(drill))


def _cautions(term: Fault | Drill) -> tuple[str, ...]:
    cautions: Iterable[Caution] = term.cautions.all()
    return tuple(caution.text for caution in cautions)
