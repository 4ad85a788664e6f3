"""What follows from the demo's reviews: lanes for the next practice, and a meet to come."""

from __future__ import annotations

from datetime import datetime, timedelta

from portal.demo import script
from portal.demo.filming import user_of
from portal.meets import entering
from portal.meets.models import Meet
from portal.people.models import Club, Squad
from portal.planning import proposing
from portal.planning.models import Plan
from portal.planning.proposing import Practice

LANES, SEATS = 4, 4
TO_PRACTICE, TO_MEET = timedelta(days=1), timedelta(days=17)


def plan_lanes(club: Club, *, at: datetime) -> None:
    """For each squad, unless somebody plans already."""
    coach = user_of(script.COACH)
    for squad in Squad.objects.filter(club=club):
        if not Plan.objects.filter(squad=squad).exists():
            day = (at + TO_PRACTICE).date()
            proposing.propose(Practice(squad, day, lanes=LANES, seats=SEATS), by=coach, at=at)


def enter_meet(club: Club, *, at: datetime) -> None:
    if Meet.objects.filter(club=club).exists():
        return
    meet = Meet.objects.create(
        club=club,
        name=script.MEET,
        starts=(at + TO_MEET).date(),
        made_by=user_of(script.COACH),
        made_at=at,
    )
    entering.take(meet, script.ENTRIES, swimmers=list(club.swimmers.all()))
