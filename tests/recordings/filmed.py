"""Recordings and clips as rows, for tests that look at pages and not at film."""

from __future__ import annotations

from itertools import count

from portal.people.models import Swimmer
from portal.recordings.models import Clip, Recording, Rendition, Session
from portal.recordings.timing import pack_times
from tests.cast import NOW, Cast

FRAMES = 300
TIMESCALE = 90_000
TICKS = [number * 3000 for number in range(FRAMES)]
FACTS = {"duration": 10.0, "rate": 30.0, "frame_count": FRAMES}
STRIP = {"step": 15, "columns": 10, "tile": [160, 90], "count": 20}
numbers = count(1)


def recording(cast: Cast, *, session: Session | None = None, **fields) -> Recording:
    number = next(numbers)
    defaults = {
        "name": f"lane {number}.mp4",
        "filmed_by": cast.assistant,
        "uploaded_at": NOW,
        "original": f"originals/{number}.film",
        "size": 1000,
        "sha256": f"{number:064x}",
    }
    return Recording.objects.create(session=session or cast.session, **{**defaults, **fields})


def ready(cast: Cast, *, session: Session | None = None, **fields) -> Recording:
    """With a light copy of 300 frames at 30 a second, whose file is not there."""
    facts = {"state": Recording.State.READY, "facts": FACTS, "strip": STRIP}
    one = recording(cast, session=session, **{**facts, **fields})
    copy(one)
    return one


def copy(recording: Recording, clip: Clip | None = None) -> Rendition:
    first = clip.first_frame if clip else 0
    count = clip.frame_count if clip else FRAMES
    return Rendition.objects.create(
        recording=recording,
        clip=clip,
        kind=Rendition.Kind.FULL if clip else Rendition.Kind.LIGHT,
        file=f"copies/{(clip or recording).code}.mp4",
        size=1000,
        sha256=f"{recording.pk:062x}{clip.pk % 256 if clip else 0:02x}",
        width=960,
        height=540,
        first_frame=first,
        frame_count=count,
        timescale=TIMESCALE,
        packed_times=pack_times(TICKS[first : first + count]),
        made_at=NOW,
    )


def clip(cast: Cast, recording: Recording, *swimmers: Swimmer, first: int = 0, last: int = 90):
    one = Clip.objects.create(
        recording=recording,
        first_frame=first,
        last_frame=last,
        stroke="breast",
        view="side-underwater",
        effort="practice",
        cut_by=cast.coach,
        cut_at=NOW,
    )
    one.swimmers.set(swimmers)
    return one
