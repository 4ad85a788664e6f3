"""Films on the disk, in the club, and read back picture by picture."""

from __future__ import annotations

import subprocess
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from django.conf import settings
from numpy.typing import NDArray

from portal.recordings import preparing, uploading
from portal.recordings.models import Clip, Recording, Rendition
from tests.cast import NOW, Cast
from tests.media import read_number

CORPUS = settings.BASE_DIR.parent / "shared" / "corpus"


def silent(_share: float) -> None:
    """For whoever does not care how much is done."""


def bring_in(cast: Cast, path: Path) -> Recording:
    """Uploaded, and waiting to be made ready."""
    return uploading.receive(
        cast.session,
        name=path.name,
        blocks=[path.read_bytes()],
        length=path.stat().st_size,
        by=cast.coach,
        at=NOW,
    )


def make_ready(cast: Cast, path: Path) -> Recording:
    recording = bring_in(cast, path)
    preparing.prepare(recording, at=NOW, report=silent)
    recording.refresh_from_db()
    return recording


def light_copy(recording: Recording) -> Rendition:
    return recording.renditions.get(clip=None)


def mark(cast: Cast, recording: Recording, first: int, last: int) -> Clip:
    """A clip that nobody checked, as for a film without a swimmer in it."""
    return Clip.objects.create(
        recording=recording,
        first_frame=first,
        last_frame=last,
        stroke="free",
        view="side-deck",
        effort="easy",
        cut_by=cast.coach,
        cut_at=NOW,
    )


def pictures(path: Path) -> Iterable[NDArray[np.uint8]]:
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            yield np.asarray(frame.to_ndarray(format="rgb24"), np.uint8)


def numbers(path: Path, *, scale: float = 1.0, turned: int = 0) -> list[int]:
    """What each frame spells; `turned` quarter turns against the clock set it upright."""
    return [read_number(np.rot90(picture, turned), scale=scale) for picture in pictures(path)]


def times(path: Path) -> list[Fraction]:
    """Seconds of each frame from the first one, by decoding every one of them."""
    with av.open(str(path)) as container:
        found = [
            Fraction(frame.pts or 0) * (frame.time_base or 0) for frame in container.decode(video=0)
        ]
    return [moment - found[0] for moment in found]


def stored_times(copy: Rendition) -> list[Fraction]:
    return [Fraction(tick, copy.timescale) for tick in copy.times]


def remux(source: Path, target: Path, *before: str, after: Iterable[str] = ()) -> Path:
    """The same pictures in another wrapping; `before` stands before the input."""
    subprocess.run(
        [settings.FFMPEG, "-v", "error", "-y", *before, "-i", source, "-c", "copy", *after, target],
        check=True,
    )
    return target


def everything_kept() -> list[str]:
    """Names of all files under MEDIA_ROOT."""
    root = Path(settings.MEDIA_ROOT)
    return sorted(str(path.relative_to(root)) for path in root.rglob("*") if path.is_file())
