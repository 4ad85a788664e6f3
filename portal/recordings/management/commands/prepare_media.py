"""`manage.py prepare_media FILE --out DIR`: the copies of a film, without a club or a database."""

from __future__ import annotations

import json
import time
from argparse import ArgumentParser
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from portal.kit.storage import NoRoom
from portal.recordings import encoding, probing
from portal.recordings.fitting import FULL, Strip
from portal.recordings.probing import Film

EXACT_SECONDS = Fraction(1, 1000)


class Command(BaseCommand):
    help = (
        "Make the light and the full copy, poster and filmstrip of a whole film, and report.json: "
        "its facts, the sizes, and whether every frame is there at its own time."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--out", type=Path, required=True, help="A folder; made if missing.")

    def handle(self, *_args: Any, file: Path, out: Path, **_options: Any) -> None:  # noqa: ANN401
        try:
            out.mkdir(parents=True, exist_ok=True)
            report = _prepare(file, out)
        except (probing.Unusable, NoRoom, encoding.Killed, OSError) as problem:
            raise CommandError(str(problem)) from problem
        (out / "report.json").write_text(json.dumps(report, indent=2) + "\n")
        self.stdout.write(json.dumps(report, indent=2))


def _prepare(file: Path, out: Path) -> dict[str, Any]:
    film = probing.read(file)
    strip = Strip.of(film.facts)
    light, light_seconds = _timed(
        lambda: encoding.copy_with_pictures(file, film.facts, strip, into=out, report=_silent)
    )
    light = light.replace(out / "light.mp4")
    full, full_seconds = _timed(
        lambda: encoding.copy_whole(file, film.facts, bound=FULL, into=out, report=_silent)
    )
    full = full.replace(out / "full.mp4")
    frames = probing.read(light).facts.frame_count
    return {
        "facts": film.facts.as_json(),
        "source_bytes": file.stat().st_size,
        "light": _compared(light, film) | {"seconds": light_seconds},
        "full": _compared(full, film) | {"seconds": full_seconds},
        "strip": strip.as_json(frames),
    }


def _silent(_share: float) -> None:
    pass


def _timed(work: Callable[[], Path]) -> tuple[Path, float]:
    begin = time.monotonic()
    path = work()
    return path, round(time.monotonic() - begin, 2)


def _compared(path: Path, film: Film) -> dict[str, Any]:
    copy = probing.read(path)
    off = _largest_shift(copy, film)
    return {
        "file": path.name,
        "bytes": path.stat().st_size,
        "width": copy.facts.width,
        "height": copy.facts.height,
        "frame_count": copy.facts.frame_count,
        "has_all_frames": copy.facts.frame_count == film.facts.frame_count,
        "largest_shift_ms": None if off is None else round(float(off * 1000), 6),
        "has_exact_times": off is not None and off <= EXACT_SECONDS,
    }


def _largest_shift(copy: Film, film: Film) -> Fraction | None:
    """In seconds, each film counted from its own first frame; None: not the same frames."""
    if len(copy.ticks) != len(film.ticks):
        return None
    return max(
        abs((one - copy.ticks[0]) * copy.base - (other - film.ticks[0]) * film.base)
        for one, other in zip(copy.ticks, film.ticks, strict=True)
    )
