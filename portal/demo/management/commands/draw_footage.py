"""`manage.py draw_footage --out DIR`: the demo's clips, drawn anew, and the truth about each."""

from __future__ import annotations

import multiprocessing
import os
import re
from argparse import ArgumentTypeError
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

# Only drawing needs it: the demo itself is built from footage that was drawn before.
HAS_NUMPY = find_spec("numpy") is not None
if HAS_NUMPY:
    from portal.demo.drawing import scenes
    from portal.demo.drawing.film import Format, NotEncoded, draw
    from portal.demo.drawing.scenes import BadClips, Scene

SMALLEST, LARGEST = 320, 1920


def size(text: str) -> tuple[int, int]:
    """Width and height of "640x360"."""
    match = re.fullmatch(r"(\d+)x(\d+)", text)
    width, height = (int(match[1]), int(match[2])) if match else (0, 0)
    if not SMALLEST <= width <= LARGEST or not height or width % 2 or height % 2:
        raise ArgumentTypeError(
            f"{text!r} is no size. Write width x height in even numbers, as 640x360; the width "
            f"from {SMALLEST} to {LARGEST}."
        )
    return width, height


def rate(text: str) -> int:
    if not text.isdecimal() or not 10 <= int(text) <= 240:
        raise ArgumentTypeError(f"{text!r} is no frame rate. Write a number from 10 to 240.")
    return int(text)


class Command(BaseCommand):
    help = "Draw the demo's clips (mp4), and beside each the truth about its frames (json)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--out", type=Path, required=True, help="A folder; made if missing.")
        parser.add_argument(
            "--only", action="append", default=[], metavar="NAME", help="May be said repeatedly."
        )
        parser.add_argument("--size", type=size, default=(1280, 720), help="As 640x360.")
        parser.add_argument("--fps", type=rate, default=30, help="Frames a second.")
        parser.add_argument(
            "--strip",
            action="store_true",
            help="Write each frame's number into its top left corner, for machines.",
        )

    def handle(self, *_args: Any, out: Path, only: list[str], **options: Any) -> None:  # noqa: ANN401
        if not HAS_NUMPY:
            raise CommandError(
                "Drawing needs numpy, which is not here. `make test` installs it with the other "
                "libraries for tests; so does `pip install numpy` in the same environment."
            )
        width, height = options["size"]
        form = Format(width=width, height=height, rate=options["fps"], is_numbered=options["strip"])
        try:
            wanted = scenes.pick(only, scenes.read())
            out.mkdir(parents=True, exist_ok=True)
            for path in _drawn(wanted, out, form):
                self.stdout.write(f"{path.name}, {path.stat().st_size // 1000} kB")
                self.stdout.flush()
        except (BadClips, NotEncoded, OSError) as problem:
            raise CommandError(str(problem)) from problem


def _drawn(wanted: list[Scene], out: Path, form: Format) -> Iterator[Path]:
    """Each film as soon as it is there; as many at a time as there are processors."""
    if len(wanted) == 1:
        yield draw(wanted[0], out, form=form, ffmpeg=settings.FFMPEG)
        return
    workers = min(len(wanted), os.cpu_count() or 1)
    afresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=afresh) as pool:
        films = [
            pool.submit(draw, scene, out, form=form, ffmpeg=settings.FFMPEG) for scene in wanted
        ]
        for film in as_completed(films):
            yield film.result()
