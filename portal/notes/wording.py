"""The squad's words as a family reads them.

They change only when the catalogue is loaded or a club words something anew, so each process
keeps them until they have another stamp, and a page asks for one row instead of ten tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from portal.notes.asking import edition
from portal.people.models import Club
from portal.technique.citing import named
from portal.technique.models import Caution, Checkpoint, Drill, Fault
from portal.technique.wording import Words as OwnWords

MOST_CLUBS = 8
"""Whose words a process keeps."""
YOUNG = 11
"""Below it swimmers read the catalogue's cue for the young."""


@dataclass(frozen=True)
class FaultWords:
    good: str
    """The name of the checkpoint: what to do instead."""
    see: str
    cue: str
    cue_young: str
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


def cue_for(said: str, fault: FaultWords | None, *, age: int) -> str:
    """What to think of while swimming. A coach's own words stand; the catalogue's, and none, make
    way for those that a child understands."""
    if age < YOUNG and fault and fault.cue_young and said in ("", fault.cue):
        return fault.cue_young
    return said


def words(club: int) -> Words:
    """Those that this club speaks. One query, and nine more once a process after each change."""
    stamp = edition(club)
    # Before the first load there is nothing to tell old words from new ones.
    read = _keep if stamp else _read
    return read(stamp, get_language(), club)


def _read(_stamp: str | None, _language: str | None, club: int) -> Words:
    own = OwnWords.of(Club.objects.get(pk=club))
    faults = Fault.objects.select_related("checkpoint").prefetch_related("rules", "cautions")
    drills = Drill.objects.prefetch_related("cautions")
    return Words(
        checkpoints={point.id: own.spoken(point).name for point in Checkpoint.objects.all()},
        faults={fault.id: _fault(fault, own) for fault in faults},
        drills={drill.id: _drill(own.spoken(drill)) for drill in drills},
    )


# The last edition's words may still be asked for while a load is on its way.
_keep = lru_cache(maxsize=2 * MOST_CLUBS)(_read)


def _fault(fault: Fault, own: OwnWords) -> FaultWords:
    rules = ((named(rule.name, own.citations(rule)), rule.paraphrase) for rule in fault.rules.all())
    spoken = own.spoken(fault)
    return FaultWords(
        good=own.spoken(fault.checkpoint).name,
        see=fault.see,
        cue=spoken.cue,
        cue_young=spoken.cue_young,
        rules=tuple(rules),
        cautions=_cautions(fault),
    )


def _drill(drill: Drill) -> DrillWords:
    return DrillWords(drill.name, drill.how, drill.dose, drill.equipment, _cautions(drill))


def _cautions(term: Fault | Drill) -> tuple[str, ...]:
    cautions: Iterable[Caution] = term.cautions.all()
    return tuple(caution.text for caution in cautions)
