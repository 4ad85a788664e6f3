"""The drawn take of six swimmers, one after another, and what is known of it."""

from __future__ import annotations

import subprocess
from pathlib import Path

from django.conf import settings

from portal.demo.filming import FOOTAGE, truth_of

FOOTAGE_NAMES = [
    "noor-breast",
    "jonas-heels-low",
    "elif-free-dropped",
    "sanne-free",
    "mateo-turn",
    "kenji-turn-one-hand",
]
HALF_A_SECOND = 15
"""Frames."""


def six_swimmers(path: Path) -> Path:
    """Each comes into the picture and leaves it; the next comes after almost a second."""
    parts = path.with_suffix(".txt")
    parts.write_text("".join(f"file '{FOOTAGE / name}.mp4'\n" for name in FOOTAGE_NAMES))
    subprocess.run(
        [
            *(settings.FFMPEG, "-nostdin", "-v", "error", "-f", "concat", "-safe", "0"),
            *("-i", parts, "-c", "copy", "-movflags", "+faststart", path),
        ],
        check=True,
    )
    return path


def seen() -> list[tuple[int, int]]:
    """First and last frame of the whole take with each swimmer's hips in the picture."""
    found, start = [], 0
    for name in FOOTAGE_NAMES:
        truth = truth_of(name)
        first, last = truth.seen
        found.append((start + first, start + last))
        start += truth.frames
    return found
