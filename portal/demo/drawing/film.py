"""A scene as a film and the truth about it. The same scene is the same file, byte for byte."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from portal.demo.drawing import lens as lenses
from portal.demo.drawing import spray, strip
from portal.demo.drawing.body import Skeleton
from portal.demo.drawing.lens import Lens
from portal.demo.drawing.measuring import PIXELS, measures
from portal.demo.drawing.moves import Move
from portal.demo.drawing.pool import Pool
from portal.demo.drawing.scenes import Scene
from portal.demo.drawing.spray import Seen
from portal.demo.truth import Pixel, Truth, write

# Constant quality, a key frame twice a second, and one thread: with more of them the encoder's
# choices depend on the machine.
ENCODING = (
    *("-c:v", "libx264", "-preset", "veryfast", "-crf", "27", "-pix_fmt", "yuv420p"),
    *("-g", "15", "-sc_threshold", "0", "-bf", "0", "-threads", "1", "-flags:v", "+bitexact"),
    *("-fflags", "+bitexact", "-movflags", "+faststart"),
)


class NotEncoded(Exception):
    """The encoder gave up."""


@dataclass(frozen=True, kw_only=True)
class Format:
    width: int = 1280
    height: int = 720
    rate: int = 30
    """Frames a second."""
    is_numbered: bool = False
    """Each frame has its number in the corner: see strip."""


class Shooting:
    """A scene through a lens, frame by frame."""

    def __init__(self, scene: Scene, form: Format) -> None:
        self.scene, self.form = scene, form
        self.move = scene.move(form.rate)
        self.lens = Lens(form.width, form.height, scene.view)
        self.places = lenses.places(self.move, scene.view, scene.rail)

    @cached_property
    def beads(self) -> list[list[Seen]]:
        return spray.beads(self.move)

    @cached_property
    def pool(self) -> Pool:
        return Pool(self.lens)

    def lens_at(self, frame: int) -> Lens:
        return self.lens.moved(self.places[frame])

    def picture(self, frame: int) -> NDArray[np.uint8]:
        """Height x width x 3."""
        picture = self.pool.frame(
            self.move.body(frame),
            self.scene.outfit,
            self.beads[frame],
            self.lens_at(frame),
            frame / self.form.rate,
        )
        if self.form.is_numbered:
            strip.put(picture, frame)
        return picture

    def truth(self) -> Truth:
        bodies = [self.move.body(frame) for frame in range(len(self.move))]
        pixels = self._pixels(bodies)
        table = [measures(body) for body in bodies]
        columns = {name: [row[name] for row in table] for name in table[0]}
        form = self.form
        return Truth(
            frames=len(bodies),
            rate=form.rate,
            size=(form.width, form.height),
            view=self.scene.view,
            shows=self.move.shows | _extremes(columns),
            seen=_stretch(pixels["hip"], form),
            events=_frames(self.move),
            measures=columns,
            pixels=pixels,
        )

    def _pixels(self, bodies: list[Skeleton]) -> dict[str, list[Pixel]]:
        rows = [
            self.lens_at(frame).pixels(np.array([body.joints[name] for name in PIXELS])).round(1)
            for frame, body in enumerate(bodies)
        ]
        return {
            name: [(float(row[i][0]), float(row[i][1])) for row in rows]
            for i, name in enumerate(PIXELS)
        }


def draw(scene: Scene, folder: Path, *, form: Format, ffmpeg: str) -> Path:
    """Write NAME.mp4 and NAME.json into the folder. Takes about 0.1 s of one processor for a
    frame of 1280 x 720, and a third of that for 640 x 360. Raises NotEncoded."""
    shooting, path = Shooting(scene, form), folder / f"{scene.name}.mp4"
    raw = ("-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{form.width}x{form.height}")
    command = (
        *(ffmpeg, "-nostdin", "-v", "error", "-y"),
        *(*raw, "-r", str(form.rate), "-i", "pipe:0", *ENCODING, str(path)),
    )
    encoder = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE)  # noqa: S603 - every word of it is ours
    with encoder:
        problem = _feed(encoder, shooting)
    if encoder.returncode:
        raise NotEncoded(f"{ffmpeg} could not write {path}: {problem}")
    write(shooting.truth(), path.with_suffix(".json"))
    return path


def _feed(encoder: subprocess.Popen[bytes], shooting: Shooting) -> str:
    """Hand over every frame; what the encoder said of it, which is nothing if all is well."""
    assert encoder.stdin is not None  # noqa: S101
    assert encoder.stderr is not None  # noqa: S101
    try:
        for frame in range(len(shooting.move)):
            encoder.stdin.write(shooting.picture(frame).tobytes())
        encoder.stdin.close()
    except BrokenPipeError:
        encoder.kill()
    return encoder.stderr.read().decode(errors="replace").strip()


def _extremes(columns: dict[str, list[float]]) -> dict[str, Any]:
    return {
        "heel_hip_min_m": min(columns["heel_hip_m"]),
        "knee_gap_max_m": max(columns["knee_gap_m"]),
    }


def _stretch(hips: list[Pixel], form: Format) -> tuple[int, int]:
    inside = [
        frame
        for frame, (column, row) in enumerate(hips)
        if 0 <= column < form.width and 0 <= row < form.height
    ]
    return inside[0], inside[-1]


def _frames(move: Move) -> dict[str, list[int]]:
    """Of each event, those before the film is over."""
    frames: dict[str, list[int]] = {}
    for name, seconds in move.events:
        frame = round(seconds * move.rate)
        if frame < len(move):
            frames.setdefault(name, []).append(frame)
    return frames
