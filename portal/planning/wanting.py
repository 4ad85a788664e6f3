"""What the swimmers of a squad would practise, from their open items."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date

from portal.items.models import ItemSummary
from portal.items.pressing import points
from portal.items.recurrence import State
from portal.people.models import Squad, Swimmer
from portal.technique.models import Checkpoint, Fault

Theme = tuple[str, int]
"""Stroke and checkpoint."""


@dataclass(frozen=True)
class Want:
    """An open item as a reason to be in a lane."""

    swimmer: int
    theme: Theme
    fault: Fault
    checkpoint: Checkpoint
    state: State
    is_not_legal: bool

    @property
    def points(self) -> int:
        return points(self.state, is_not_legal=self.is_not_legal)


class Wants:
    """The open items of some swimmers, the most pressing of each theme first. One query."""

    def __init__(self, swimmers: Collection[Swimmer], *, stroke: str = "") -> None:
        self.all = list(_wants(swimmers, stroke))
        self.of: dict[int, dict[Theme, Want]] = defaultdict(dict)
        for want in sorted(self.all, key=lambda each: (-each.points, each.fault.order)):
            self.of[want.swimmer].setdefault(want.theme, want)

    @property
    def themes(self) -> list[Theme]:
        """In the catalogue's order."""
        order = {want.theme: (want.checkpoint.order, want.theme[0]) for want in self.all}
        return sorted(order, key=lambda theme: order[theme])

    def worth(self, swimmer: Swimmer) -> dict[Theme, int]:
        found = self.of.get(swimmer.pk, {})
        return {theme: want.points for theme, want in found.items()}

    def leading(self, theme: Theme) -> Fault | None:
        """The fault that weighs most among all who have one of this theme: its cue is said and
        its drill swum."""
        weights: dict[Fault, int] = defaultdict(int)
        for want in self.all:
            if want.theme == theme:
                weights[want.fault] += want.points
        return max(weights, key=lambda fault: (weights[fault], -fault.order), default=None)


def _wants(swimmers: Collection[Swimmer], stroke: str) -> Iterator[Want]:
    found = ItemSummary.objects.still_open().filter(swimmer__in=swimmers)
    if stroke:
        found = found.filter(stroke=stroke)
    for item in found.select_related("checkpoint", "fault"):
        if item.fault:
            yield Want(
                swimmer=item.swimmer_id,
                theme=(item.stroke, item.checkpoint_id),
                fault=item.fault,
                checkpoint=item.checkpoint,
                state=State(item.state),
                is_not_legal=item.was_not_legal,
            )


def swimmers_of(squad: Squad, *, on: date) -> list[Swimmer]:
    """By name. One query."""
    there = Swimmer.objects.filter(places__in=squad.places.on(on))
    return sorted(there, key=lambda swimmer: (swimmer.name, swimmer.pk))
