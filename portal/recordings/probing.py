"""What a file is, before anything is made of it: a film within the limits, or why it is none."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from portal.recordings import confining, reading

# Apart by more than this from the middle gap between frames, and the rate is a variable one:
# clocks that count whole milliseconds stay below it.
UNEVEN_SECONDS = Fraction(15, 10_000)
# A camera's 240 frames a second may be 240.1.
RATE_TOLERANCE = 1.01
# Even 6 GiB on a slow disk are read through in this time.
SECONDS = 600

# Of a film whose colours are not described.
UNSAID = 2

SENTENCES = {
    "not a film": gettext_noop(
        "This file is not a film. Choose the video file itself, as the camera or phone saved it."
    ),
    "empty": gettext_noop("This file is empty. Copy it from the camera again and upload that."),
    "cut short": gettext_noop(
        "This file was cut short or damaged when it was copied: its index is missing. Copy it "
        "from the camera again and upload that."
    ),
    "only sound": gettext_noop(
        "This file holds only sound. Choose the video file that was filmed with it."
    ),
    "one picture": gettext_noop("This file is a single picture. Choose a film."),
    "no picture": gettext_noop(
        "No picture of this film can be read, it is damaged. Copy it from the camera again and "
        "upload that."
    ),
    "unknown kind": gettext_noop(
        "Films of the kind “%(kind)s” cannot be read here. Set the camera to its most compatible "
        "format (H.264), or export the film in it, and upload that."
    ),
    "too heavy": gettext_noop(
        "This file is larger than %(megabytes)d MB. Cut it into parts and upload those."
    ),
    "too long": gettext_noop(
        "This film is longer than %(minutes)d minutes. Cut it into parts and upload those."
    ),
    "too many frames": gettext_noop(
        "This film has more than %(frames)d pictures. Cut it into parts and upload those."
    ),
    "too fast": gettext_noop(
        "This film has more than %(rate)d pictures a second. Film with a lower rate."
    ),
    "too large": gettext_noop(
        "The pictures of this film are larger than %(width)d x %(height)d. Film in a smaller "
        "size, or export the film in one."
    ),
    "not converted": gettext_noop(
        "No copy for watching could be made of this film. Export it as MP4 (H.264) and upload that."
    ),
    "too slow": gettext_noop(
        "Reading this film took too long. It may be damaged: copy it from the camera again and "
        "upload that."
    ),
}


class Unusable(Exception):
    """The file cannot become a recording. The message tells people why, and what to do."""


@dataclass(frozen=True)
class Facts:
    """What a film is, in the size and the position in which it is shown."""

    width: int
    height: int
    rotation: int
    """Degrees, clockwise, by which the pictures as stored are turned: 0, 90, 180 or 270."""
    frame_count: int
    rate: float
    """Frames a second; of an uneven film that of its middle gap."""
    is_variable: bool
    duration: float
    """Seconds from the first picture to the end of the last."""
    codec: str
    transfer: int
    """How brightness is coded; 16 and 18 are the two kinds of high dynamic range."""
    is_interlaced: bool
    has_sound: bool
    video_stream: int
    start: float
    """Seconds from the file's own beginning to the first picture."""
    is_cut_short: bool
    """The file says that it holds more than it does."""
    filmed_rate: float | None = None
    """Frames a second while the camera ran, where the file tells it; films made ready earlier
    were not asked."""
    matrix: int = UNSAID
    """How colour is coded, by the numbers of ISO/IEC 23091-2."""

    @property
    def lines(self) -> int:
        """As stored, before the picture is turned."""
        return self.width if self.rotation % 180 else self.height

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


@dataclass(frozen=True)
class Film:
    """Facts, and the exact time of each frame in units of `base` seconds."""

    facts: Facts
    ticks: Sequence[int]
    base: Fraction


def probe(path: Path) -> Facts:
    """Raises Unusable."""
    return read(path).facts


def read(path: Path) -> Film:
    """Facts and times within the settings' limits, or Unusable."""
    size = path.stat().st_size
    if size == 0:
        raise unusable("empty")
    if size > settings.RECORDING_MAX_BYTES:
        raise unusable("too heavy")
    answer = _answer(path)
    if problem := answer.pop("problem", ""):
        raise unusable(problem, **answer)
    ticks, base = answer["ticks"], Fraction(*answer["time_base"])
    film = Film(_facts(answer, ticks, base), ticks, base)
    _must_fit(film)
    return film


def _answer(path: Path) -> dict[str, Any]:
    pixels = settings.RECORDING_MAX_WIDTH * settings.RECORDING_MAX_HEIGHT
    orders = json.dumps({"frames": settings.RECORDING_MAX_FRAMES, "pixels": pixels})
    program = [sys.executable, "-I", reading.__file__, confining.FILE, orders]
    limits = confining.Limits(seconds=SECONDS, file_bytes=0)
    last = ""
    try:
        with confining.running(program, on=path, limits=limits) as child:
            for line in child.lines():
                last = line
            child.returncode()
    except confining.TookTooLong as error:
        raise unusable("too slow") from error
    try:
        answer = json.loads(last)
    except ValueError as error:
        # The libraries crashed or ran into a limit in the child: nobody can watch this file.
        raise unusable("no picture") from error
    return dict(answer)


def _facts(answer: dict[str, Any], ticks: Sequence[int], base: Fraction) -> Facts:
    gaps = [after - before for before, after in pairwise(ticks)]
    middle = Fraction(median(gaps)) * base or base
    is_variable = any(abs(gap * base - middle) > UNEVEN_SECONDS for gap in gaps)
    span = (ticks[-1] - ticks[0]) * base
    # The average is exact where a coarse clock makes gaps of 33, 33 and 34 ms.
    rate = 1 / middle if is_variable or not span else len(gaps) / span
    width, height, rotation = _as_shown(answer)
    return Facts(
        width=width,
        height=height,
        rotation=rotation,
        frame_count=len(ticks),
        rate=round(float(rate), 3),
        is_variable=is_variable,
        duration=round(float(span + middle), 6),
        codec=answer["codec"],
        transfer=answer["transfer"],
        is_interlaced=answer["is_interlaced"],
        has_sound=answer["has_sound"],
        video_stream=answer["video_stream"],
        start=answer["start"],
        is_cut_short=answer["is_cut_short"],
        filmed_rate=answer["filmed_rate"],
        matrix=answer["matrix"],
    )


def _as_shown(answer: dict[str, Any]) -> tuple[int, int, int]:
    """Width and height with square pixels and upright, and the turn that makes it so.

    The libraries count the turn against the clock, and give nonsense for a broken matrix. Of
    pixels narrow enough, no whole one is left.
    """
    width, height = max(1, round(answer["width"] * answer["pixel_shape"])), answer["height"]
    turn = -answer["rotation"] % 360 if answer["rotation"] % 90 == 0 else 0
    if turn % 180:
        width, height = height, width
    return width, height, turn


def _must_fit(film: Film) -> None:
    facts = film.facts
    longest = settings.RECORDING_MAX_WIDTH, settings.RECORDING_MAX_HEIGHT
    sides = max(facts.width, facts.height), min(facts.width, facts.height)
    if any(side > most for side, most in zip(sides, longest, strict=True)):
        raise unusable("too large")
    if facts.duration > settings.RECORDING_MAX_MINUTES * 60:
        raise unusable("too long")
    mean = (facts.frame_count - 1) / max(facts.duration - 1 / facts.rate, 0.001)
    if mean > settings.RECORDING_MAX_RATE * RATE_TOLERANCE:
        raise unusable("too fast")


def unusable(problem: str, **values: object) -> Unusable:
    """The sentence for a key of SENTENCES, with the limits in it."""
    return Unusable(
        _(SENTENCES[problem])
        % {
            "megabytes": settings.RECORDING_MAX_BYTES // 1_000_000,
            "minutes": settings.RECORDING_MAX_MINUTES,
            "frames": settings.RECORDING_MAX_FRAMES,
            "rate": settings.RECORDING_MAX_RATE,
            "width": settings.RECORDING_MAX_WIDTH,
            "height": settings.RECORDING_MAX_HEIGHT,
            **values,
        }
    )
