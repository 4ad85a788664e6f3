"""Two coaches saw one clip differently: what was said by whom, and which of it counts.

Until somebody settles it, the clip counts for nothing. What is overruled stays as it was said and
is left out of the sums; a review that is published anew says it anew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from django.db import transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.items.models import Observation, Verdict
from portal.items.refreshing import hold, refresh
from portal.people.models import Swimmer, User
from portal.technique.models import Fault


class Settled(Exception):
    """Somebody has settled it already, or one of the reviews is no longer out."""


@dataclass(frozen=True)
class Dispute:
    """One item on one clip."""

    fault: Fault
    there: list[Observation]
    clean: list[Observation]

    @property
    def swimmer(self) -> Swimmer:
        return self.there[0].swimmer

    @property
    def stroke(self) -> str:
        return self.there[0].stroke

    @property
    def name(self) -> str:
        """For the address of the page's form: the first that was said."""
        return str(self.there[0].comment_code)


def disputes(swimmers: Collection[int]) -> list[Dispute]:
    """Those that nobody has settled yet, the newest first. One query."""
    on_clips = Observation.objects.filter(
        swimmer__in=swimmers, clip__isnull=False, overruled_at=None
    )
    related = ("swimmer__club", "session", "clip", "coach", "checkpoint__merged_into")
    of_fault = ("fault__checkpoint__merged_into", "fault__merged_into__checkpoint__merged_into")
    faulty: dict[tuple[int, int | None, str, Fault], list[Observation]] = defaultdict(list)
    good: dict[tuple[int, int | None, str, int], list[Observation]] = defaultdict(list)
    for each in on_clips.select_related(*related, *of_fault).order_by("-date", "id"):
        where = (each.swimmer_id, each.clip_id, each.stroke)
        if each.verdict == Verdict.GOOD:
            good[*where, each.checkpoint.standing.pk].append(each)
        elif each.fault:
            faulty[*where, cast(Fault, each.fault.standing)].append(each)
    found = []
    for (swimmer, clip, stroke, fault), there in faulty.items():
        clean = good.get((swimmer, clip, stroke, fault.checkpoint.standing.pk), [])
        # Who sees it once there and once not sees both; others contradict.
        coaches = {each.coach_id for each in there}
        against = [each for each in clean if each.coach_id not in coaches]
        if against:
            found.append(Dispute(fault, there, against))
    return found


def dispute_of(swimmers: Collection[int], name: str) -> Dispute | None:
    return next((each for each in disputes(swimmers) if each.name == name), None)


@transaction.atomic
def settle(dispute: Dispute, *, is_there: bool, by: User, at: datetime) -> None:
    """One side counts from now on, and the other is overruled. Raises Settled."""
    overruled = dispute.clean if is_there else dispute.there
    hold([dispute.swimmer.pk])
    rows = Observation.objects.filter(
        pk__in=[each.pk for each in [*dispute.there, *dispute.clean]], overruled_at=None
    )
    if rows.count() != len(dispute.there) + len(dispute.clean):
        raise Settled
    rows.filter(pk__in=[each.pk for each in overruled]).update(overruled_at=at)
    refresh(dispute.swimmer.pk, {dispute.fault.checkpoint.standing.pk})
    note(
        Entry.Action.CHANGED,
        dispute.swimmer,
        at=at,
        by=by,
        club=dispute.swimmer.club,
        settled=dispute.fault.slug,
        counts="still there" if is_there else "clean",
        overruled=len(overruled),
    )
