"""What a club does to its words. Each change is on record, and gives the words a new stamp."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Club, Squad, User
from portal.technique.models import (
    Caution,
    Checkpoint,
    Drill,
    Edition,
    Fault,
    MonthList,
    Term,
    Vocabulary,
    Wording,
)
from portal.technique.wording import MOST_OF_A_MONTH, TABLES, Words

MODELS: dict[str, type[Checkpoint] | type[Fault] | type[Drill]] = {
    Wording.Table.CHECKPOINT: Checkpoint,
    Wording.Table.FAULT: Fault,
    Wording.Table.DRILL: Drill,
}
OWN = "own-"
# What a club adds carries what everybody's carries there, whether somebody thinks of it or not.
CAREFUL = {
    ("any", "underwater"): ("breath-holding", "neck-back"),
    ("any", "pullout"): ("breath-holding",),
    ("any", "start"): ("racing-dive-depth",),
    ("breast", "kick"): ("knee-pain",),
}

TermT = TypeVar("TermT", Checkpoint, Fault, Drill)


class Refused(Exception):
    """The words cannot be changed like that. Read by whoever asked."""


@dataclass(frozen=True)
class By:
    """Who changes something, and when."""

    user: User
    at: datetime


def _touch(club: Club, by: By, **detail: str | int) -> Vocabulary:
    stamp = uuid.uuid4()
    kept, _is_new = Vocabulary.objects.update_or_create(club=club, defaults={"stamp": stamp})
    # Whoever keeps something made of the words, a club's own among them, reads them anew.
    for newest in Edition.objects.all()[:1]:
        Edition.objects.filter(pk=newest.pk).update(stamp=stamp)
    note(Entry.Action.CHANGED, kept, at=by.at, by=by.user, club=club, **detail)
    return kept


@transaction.atomic
def choose_book(club: Club, book: str, *, by: By) -> None:
    kept = _touch(club, by, what="rule book")
    kept.rule_book = book
    kept.save(update_fields=["rule_book"])


@transaction.atomic
def reword(club: Club, table: str, slug: str, said: Mapping[str, Any], *, by: By) -> None:
    """`said` may have name, cue, cue_young, drills and is_hidden; nothing of them takes the
    club's wording back."""
    if said.get("name"):
        model = MODELS[table]
        _must_be_new(club, model, said["name"], but=model.objects.get(club=None, slug=slug))
    if any(said.values()):
        Wording.objects.update_or_create(club=club, table=table, slug=slug, defaults=dict(said))
    else:
        Wording.objects.filter(club=club, table=table, slug=slug).delete()
    state = "left out" if said.get("is_hidden") else "reworded" if any(said.values()) else "as was"
    _touch(club, by, table=table, slug=slug, what=state)


@transaction.atomic
def add(
    club: Club,
    model: type[TermT],
    columns: Mapping[str, Any],
    *,
    drills: Sequence[str] = (),
    slug: str = "",
    by: By,
) -> TermT:
    _must_be_new(club, model, columns["name"])
    slug = slug or f"{OWN}{uuid.uuid4().hex[:12]}"
    term = model.objects.create(club=club, slug=slug, order=model.objects.count(), **columns)
    _link(term, drills)
    _touch(club, by, table=TABLES[model], slug=slug, what="added")
    return term


@transaction.atomic
def change(term: TermT, columns: Mapping[str, Any], *, drills: Sequence[str] = (), by: By) -> TermT:
    """Only what is the club's own."""
    if term.club is None:
        raise Refused(_("That word is everybody’s. Give it a name of your own instead."))
    _must_be_new(term.club, type(term), columns["name"], but=term)
    for key, value in columns.items():
        setattr(term, key, value)
    term.save(update_fields=list(columns))
    _link(term, drills)
    _touch(term.club, by, table=TABLES[type(term)], slug=term.slug, what="changed")
    return term


@transaction.atomic
def retire(term: Checkpoint | Fault | Drill, *, by: By) -> None:
    """What was said with it stays; nobody can say it anew."""
    if term.club is None:
        raise Refused(_("That word is everybody’s. Leave it out instead."))
    if isinstance(term, Checkpoint) and term.faults.filter(is_retired=False).exists():
        raise Refused(_("Faults of yours still point at it. Retire them first."))
    term.is_retired = True
    term.save(update_fields=["is_retired"])
    _touch(term.club, by, table=TABLES[type(term)], slug=term.slug, what="retired")


@transaction.atomic
def set_month(squad: Squad, month: date, slugs: Sequence[str], *, by: By) -> None:
    """The whole list anew; without any it is gone."""
    known = Checkpoint.objects.of_club(squad.club).filter(slug__in=slugs)
    if {point.slug for point in known} != set(slugs):
        raise Refused(_("One of these is not among your checkpoints any more. Choose again."))
    if len(set(slugs)) > MOST_OF_A_MONTH:
        raise Refused(
            _("A short list has %(most)s at most. Take some out.") % {"most": MOST_OF_A_MONTH}
        )
    first = month.replace(day=1)
    if slugs:
        MonthList.objects.update_or_create(
            squad=squad, month=first, defaults={"slugs": list(dict.fromkeys(slugs))}
        )
    else:
        MonthList.objects.filter(squad=squad, month=first).delete()
    _touch(squad.club, by, what="month", squad=str(squad.code), count=len(slugs))


def _must_be_new(club: Club, model: Any, name: str, *, but: Term | None = None) -> None:  # noqa: ANN401
    words = Words.of(club)
    rows = words.terms(model.objects.all())
    for row in rows.exclude(pk=but.pk) if but else rows:
        if words.spoken(row).name.casefold() == name.casefold():
            raise Refused(_("There is a “%(name)s” already. Take another name.") % {"name": name})


def _link(term: Checkpoint | Fault | Drill, drills: Sequence[str]) -> None:
    if isinstance(term, Checkpoint):
        return
    strokes = {*term.stroke_slugs, "any"}
    slugs = {
        slug
        for (stroke, phase), needed in CAREFUL.items()
        if phase == term.phase and (stroke in strokes or "any" in term.stroke_slugs)
        for slug in needed
    }
    chosen = set(term.cautions.values_list("slug", flat=True)) if term.pk else set()
    term.cautions.set(Caution.objects.filter(slug__in=slugs | chosen))
    if isinstance(term, Fault):
        term.drills.set(Drill.objects.of_club(term.club).filter(slug__in=drills))
