"""The drawn footage as recordings of the demo's sessions, through the product's own verbs.

Every step looks first whether its row stands, also one that somebody has thrown away since:
what was interrupted goes on, and what people did in the demo is left as it is.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings

from portal.demo import truth
from portal.demo.finishing import finish
from portal.demo.script import Adult, Piece, Practice, Take
from portal.demo.truth import Truth
from portal.jobs import queueing
from portal.people.models import Club, Squad, Swimmer, User
from portal.poolside import lining
from portal.poolside.models import Turn
from portal.recordings import copying, cutting, listing, opening, playing, uploading
from portal.recordings.models import Clip, Pool, Recording, Session

FOOTAGE = Path(__file__).parent / "footage"
BLOCK = 1024 * 1024
PRACTICE_HOUR = 18
# After the session was opened.
UPLOADED = timedelta(hours=2)
SORTED = timedelta(hours=2, minutes=20)
A_TURN = timedelta(minutes=3)


@cache
def truth_of(footage: str) -> Truth:
    return truth.read(FOOTAGE / f"{footage}.json")


def user_of(adult: Adult) -> User:
    return User.objects.get(email=adult.address)


def swimmer_of(name: str, club: Club) -> Swimmer:
    first, last = name.split(" ", 1)
    return Swimmer.objects.get(club=club, first_name=first, last_name=last)


def hold(practice: Practice, club: Club, *, by: Adult, at: datetime) -> Session:
    """The session, so many days before `at` if it was not held yet."""
    squad = Squad.objects.get(club=club, name=practice.squad)
    held = Session.objects.filter(squad=squad, theme=practice.theme).first()
    if held:
        return held
    opened = (at - timedelta(days=practice.days_ago)).replace(
        hour=PRACTICE_HOUR, minute=0, second=0, microsecond=0
    )
    plan = opening.Plan(
        squad=squad,
        pool=Pool.objects.get(club=club, name=practice.pool),
        kind=practice.kind,
        date=opened.date(),
        theme=practice.theme,
    )
    return opening.open_session(plan, by=user_of(by), at=opened)


def line_up(practice: Practice, session: Session) -> None:
    """The film list as the takes show it, ticked off swimmer by swimmer. First stand those who
    are still to be sorted, so that the sorting table knows whose turn it is."""
    if session.turns.exists():
        return
    unsorted = [name for take in practice.takes for name in take.swimmers]
    done = [piece.swimmer for take in practice.takes for piece in take.pieces]
    names = dict.fromkeys([*unsorted, *done])
    swimmers = [swimmer_of(name, session.squad.club) for name in names]
    may = set(listing.may_be_filmed(session))
    lining.put(session, [swimmer for swimmer in swimmers if swimmer in may])
    turns = Turn.objects.filter(session=session).select_related("session", "swimmer")
    for number, turn in enumerate(turns, start=1):
        lining.tick(turn, at=session.created_at + number * A_TURN)


def record(take: Take, session: Session, *, by: Adult) -> Recording:
    """The take as a recording that is ready to sort."""
    recording = Recording.objects.filter(session=session, name=take.name).first()
    recording = recording or _upload(take, session, by=by)
    if recording.state == Recording.State.WAITING and not recording.thrown_away_at:
        finish(
            queueing.enqueue(
                "recordings.prepare",
                key=listing.job_key(recording),
                payload={"recording": str(recording.code)},
                at=recording.uploaded_at,
            )
        )
        recording.refresh_from_db()
    return recording


def _upload(take: Take, session: Session, *, by: Adult) -> Recording:
    with file_of(take) as path, path.open("rb") as file:
        return uploading.receive(
            session,
            name=take.name,
            blocks=iter(partial(file.read, BLOCK), b""),
            length=path.stat().st_size,
            by=user_of(by),
            at=session.created_at + UPLOADED,
        )


@contextmanager
def file_of(take: Take) -> Iterator[Path]:
    """One file of all the take's footage. Copied end to end, not encoded anew: every frame of
    the second piece has its number plus the frames of the first."""
    with TemporaryDirectory() as room:
        parts, whole = Path(room) / "parts.txt", Path(room) / "whole.mp4"
        lines = [f"file '{FOOTAGE / name}.mp4'\n" for name in take.footage]
        parts.write_text("".join(lines), encoding="utf-8")
        subprocess.run(  # noqa: S603 - every word of it is ours
            [
                *(settings.FFMPEG, "-nostdin", "-v", "error", "-f", "concat", "-safe", "0"),
                *("-i", parts, "-c", "copy", "-movflags", "+faststart", whole),
            ],
            check=True,
        )
        yield whole


def first_frames(take: Take) -> dict[Piece, int]:
    """The recording's number of each piece's frame 0."""
    starts, passed = {}, 0
    for piece in take.pieces:
        starts[piece] = passed
        passed += truth_of(piece.footage).frames
    return starts


def cut(piece: Piece, recording: Recording, *, start: int, view: str) -> Clip:
    """The piece's stretch as a clip with a copy of its own."""
    session = recording.session
    swimmer = swimmer_of(piece.swimmer, session.squad.club)
    marks = {"first_frame": start + piece.first, "last_frame": start + piece.last}
    clip = recording.clips.filter(**marks, swimmers=swimmer).first() or cutting.cut(
        recording,
        first_frame=marks["first_frame"],
        last_frame=marks["last_frame"],
        swimmers=[swimmer],
        stroke=piece.stroke,
        view=view,
        effort=piece.effort,
        by=user_of(piece.by),
        at=session.created_at + SORTED,
    )
    if playing.family_copy_of(clip) is None and not clip.removed_at:
        finish(copying.ask(clip, at=clip.cut_at))
    return clip
