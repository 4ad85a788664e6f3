"""What could cost a race: open rule items of who is entered, and what nobody has looked at."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from portal.items.models import ItemSummary, Observation
from portal.items.recurrence import UNSEEN_AFTER
from portal.items.wording import word
from portal.meets.models import Disqualification, Entry, Meet
from portal.people.access import Actor
from portal.people.models import Club, Swimmer
from portal.recordings.models import View
from portal.technique.models import Checkpoint, Fault
from portal.technique.wording import Words


@dataclass(frozen=True)
class Risk:
    """An open item that a rule speaks of."""

    item: ItemSummary

    @property
    def name(self) -> str:
        return self.item.fault.name if self.item.fault else self.item.checkpoint.name

    @property
    def state_word(self) -> str:
        return word(self.item.state)

    @property
    def rules(self) -> list[str]:
        """In the words of the catalogue; without its fault there is none."""
        return [rule.name for rule in self.item.fault.rules.all()] if self.item.fault else []


@dataclass(frozen=True)
class Unseen:
    """A view from which nobody has looked lately at what a rule speaks of."""

    view: str
    points: list[str]
    newest: date | None
    """The last look at any of them; None if there never was one."""

    @property
    def view_word(self) -> str:
        return str(View(self.view).label)


@dataclass(frozen=True)
class Row:
    entry: Entry
    risks: list[Risk]
    unseen: list[Unseen]
    slips: list[tuple[Disqualification, bool]]
    """Each with whether the list had named its rule."""


@dataclass(frozen=True)
class RaceLegal:
    rows: list[Row]
    """In the order of events, in each those with a risk first."""

    @cached_property
    def risky(self) -> int:
        return len({row.entry.swimmer_id for row in self.rows if row.risks})

    @cached_property
    def swimmers(self) -> int:
        return len({row.entry.swimmer_id for row in self.rows})


@dataclass
class _Known:
    """What is known of the swimmers, and of the rules of their strokes."""

    risks: dict[tuple[int, str], list[Risk]] = field(default_factory=lambda: defaultdict(list))
    looks: dict[tuple[int, str, int], date] = field(default_factory=dict)
    points: dict[str, list[tuple[Checkpoint, list[str]]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    """By stroke, the checkpoints that rules speak of, each with the views that can show it."""


def race_legal(meet: Meet, *, to: Actor) -> RaceLegal:
    """Eight queries, however many are entered."""
    entries = list(Entry.objects.visible_to(to).filter(meet=meet).select_related("swimmer", "meet"))
    slips = defaultdict(list)
    for slip in Disqualification.objects.filter(entry__in=entries).select_related("rule"):
        slips[slip.entry_id].append(slip)
    known = _known({entry.swimmer for entry in entries}, entries, meet.club)
    rows = [_row(entry, known, slips[entry.pk], on=to.today) for entry in entries]
    return RaceLegal(sorted(rows, key=_order))


def _order(row: Row) -> tuple[object, ...]:
    entry = row.entry
    return (*entry.event[::-1], not row.risks, entry.swimmer.name, entry.pk)


def _row(entry: Entry, known: _Known, slips: list[Disqualification], *, on: date) -> Row:
    swimmer = entry.swimmer_id
    risks = [risk for stroke in entry.strokes for risk in known.risks[swimmer, stroke]]
    named = {rule for risk in risks for rule in risk.rules}
    return Row(
        entry=entry,
        risks=risks,
        unseen=_unseen(entry, known, on=on),
        slips=[(slip, bool(slip.rule and slip.rule.name in named)) for slip in slips],
    )


def _unseen(entry: Entry, known: _Known, *, on: date) -> list[Unseen]:
    """As few views as will do: each time the one that shows most of what is still missing."""
    missing: list[tuple[str, list[str], date | None]] = []
    for stroke in entry.strokes:
        for point, views in known.points[stroke]:
            last = known.looks.get((entry.swimmer_id, stroke, point.pk))
            if last is None or on - last > UNSEEN_AFTER:
                missing.append((point.name, views, last))
    found = []
    while missing:
        counts = Counter(view for _name, views, _last in missing for view in views)
        view = max(View.values, key=lambda each: counts[each])
        shown = [each for each in missing if view in each[1]]
        missing = [each for each in missing if view not in each[1]]
        newest = max((last for _name, _views, last in shown if last), default=None)
        names = list(dict.fromkeys(name for name, _views, _last in shown))
        found.append(Unseen(view, names, newest))
    return found


def _known(swimmers: Collection[Swimmer], entries: Collection[Entry], club: Club) -> _Known:
    known = _Known()
    open_ones = ItemSummary.objects.still_open().filter(
        swimmer__in=swimmers, fault__rules__isnull=False
    )
    items = open_ones.select_related("checkpoint", "fault").prefetch_related("fault__rules")
    for item in items.distinct().order_by("-was_not_legal", "checkpoint__order", "pk"):
        known.risks[item.swimmer_id, item.stroke].append(Risk(item))
    for stroke in sorted({stroke for entry in entries for stroke in entry.strokes}):
        known.points[stroke] = _points(stroke)
    words = Words.of(club)
    words.lay_over(point for points in known.points.values() for point, _views in points)
    for risk in (risk for risks in known.risks.values() for risk in risks):
        words.lay_over([risk.item.fault, risk.item.checkpoint])
    watched = {point.pk for points in known.points.values() for point, _views in points}
    looks = Observation.objects.filter(swimmer__in=swimmers, checkpoint__in=watched)
    for swimmer, seen, point, day in looks.values_list("swimmer", "stroke", "checkpoint", "date"):
        key = (swimmer, seen, point)
        known.looks[key] = max(day, known.looks.get(key, day))
    return known


def _points(stroke: str) -> list[tuple[Checkpoint, list[str]]]:
    faults = (
        Fault.objects.current()
        .for_stroke(stroke)
        .filter(rules__isnull=False)
        .select_related("checkpoint")
        .distinct()
    )
    found: dict[Checkpoint, list[str]] = {}
    for fault in faults:
        views = [view for view in fault.views.split() if view in View]
        if views:
            found.setdefault(fault.checkpoint, views)
    return list(found.items())
