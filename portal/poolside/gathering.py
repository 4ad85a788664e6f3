"""What the page of a film list shows, in a fixed number of queries."""

from __future__ import annotations

from dataclasses import dataclass

from portal.people.models import Swimmer
from portal.poolside.models import Turn
from portal.recordings import listing
from portal.recordings.models import Session


@dataclass(frozen=True)
class FilmList:
    waiting: list[Turn]
    shut: list[Turn]
    """On the list, and since then not to be filmed."""
    filmed: list[Turn]
    scratched: list[Turn]
    others: list[Swimmer]
    """Of the squad, who may be filmed and are not on it."""
    unasked: list[Swimmer]
    """Of the squad, who may not be filmed."""

    @property
    def is_empty(self) -> bool:
        return not (self.waiting or self.shut or self.filmed or self.scratched)

    @property
    def is_over(self) -> bool:
        return not self.is_empty and not self.waiting


def film_list(session: Session) -> FilmList:
    """Three queries."""
    turns = list(Turn.objects.filter(session=session).select_related("swimmer"))
    roster = listing.roster(session)
    may = {swimmer.pk for swimmer in roster.may_be_filmed}
    here = {turn.swimmer_id for turn in turns}
    waiting = [turn for turn in turns if turn.is_waiting]
    return FilmList(
        waiting=[turn for turn in waiting if turn.swimmer_id in may],
        shut=[turn for turn in waiting if turn.swimmer_id not in may],
        filmed=[turn for turn in turns if turn.filmed_at],
        scratched=[turn for turn in turns if turn.scratched_at],
        others=[swimmer for swimmer in roster.may_be_filmed if swimmer.pk not in here],
        unasked=roster.without_consent,
    )
