"""The demo club: invented people and drawn swimmers, built as a club would build it.

May be called again at any time. Each step does only what is missing, and the club's people
appear all at once, so a build that was cut off goes on where it stopped.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from portal.demo import casting, filming, planning, reading, remarking, script
from portal.demo.script import Practice
from portal.people.models import Club
from portal.recordings.models import Recording
from portal.technique import catalogue

Say = Callable[[str], None]


class RealClub(Exception):
    """There is a club of real people in this database; invented ones have no place in it."""


def build(*, at: datetime, say: Say, practices: Sequence[Practice] | None = None) -> Club:
    """`practices`: those of the script if none are given. Raises RealClub before anything is
    written."""
    practices = reading.sessions() if practices is None else practices
    real = Club.objects.filter(is_demo=False).first()
    if real:
        raise RealClub(
            f"This database holds the club {real.name!r}. The demo goes only where no real club "
            "is: name another folder in FLAGLINE_DATA and call it again."
        )
    catalogue.load()
    club = casting.assemble(at=at)
    for practice in practices:
        say(f"{practice.squad}, {practice.theme}")
        _hold(practice, club, at=at)
    planning.plan_lanes(club, at=at)
    planning.enter_meet(club, at=at)
    remarking.send_mail(club)
    return club


def _hold(practice: Practice, club: Club, *, at: datetime) -> None:
    session = filming.hold(practice, club, by=script.COACH, at=at)
    filming.line_up(practice, session)
    for take in practice.takes:
        recording = filming.record(take, session, by=script.ASSISTANT)
        if recording.thrown_away_at or recording.state != Recording.State.READY:
            continue
        for piece, start in filming.first_frames(take).items():
            clip = filming.cut(piece, recording, start=start, view=take.view)
            remarking.remark(piece, clip, start=start)
    remarking.publish(practice, session, by=script.COACH)
