"""Films whose every frame tells its own number in pixels, drawn when the tests run."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import av
import numpy as np
from numpy.typing import NDArray

BITS = 16
CELL = 16
SIZE = (320, 180)


def numbered(number: int, size: tuple[int, int] = SIZE) -> NDArray[np.uint8]:
    """An RGB frame, height x width x 3: grey water, a moving block, and 16 black or white
    cells along the top left that spell `number`, highest bit first."""
    width, height = size
    picture = np.full((height, width, 3), 96, np.uint8)
    left = (number * 7) % max(1, width - 40)
    picture[height // 2 : height // 2 + 30, left : left + 40] = (200, 120, 40)
    for place in range(BITS):
        bit = (number >> (BITS - 1 - place)) & 1
        picture[:CELL, place * CELL : (place + 1) * CELL] = 255 * bit
    return picture


def read_number(picture: NDArray[np.uint8], *, scale: float = 1.0) -> int:
    """The number that a decoded frame spells; `scale` is its width over the drawn width."""
    number = 0
    for place in range(BITS):
        row, column = int(CELL / 2 * scale), int((place + 0.5) * CELL * scale)
        number = number * 2 + int(picture[row, column].mean() > 127)
    return number


def film(
    path: Path,
    *,
    frames: int,
    rate: Fraction | int = 30,
    ticks: Sequence[int] | None = None,
    size: tuple[int, int] = SIZE,
    codec: str = "libx264",
    options: dict[str, str] | None = None,
) -> Path:
    """Write `frames` numbered frames; `ticks` (1/90000 s each) makes the rate variable."""
    given = tuple({"crf": "18", **(options or {})}.items())
    times = tuple(ticks) if ticks else None
    path.write_bytes(_drawn(path.suffix, frames, Fraction(rate), times, size, codec, given))
    return path


@cache
def _drawn(
    suffix: str,
    frames: int,
    rate: Fraction,
    ticks: tuple[int, ...] | None,
    size: tuple[int, int],
    codec: str,
    options: tuple[tuple[str, str], ...],
) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"film{suffix}"
        with av.open(str(path), "w") as container:
            stream = container.add_stream(codec, rate=rate, options=dict(options))
            assert isinstance(stream, av.VideoStream)
            stream.width, stream.height = size
            stream.pix_fmt = "yuv420p"
            clock = Fraction(1, 90_000) if ticks else 1 / rate
            stream.time_base = stream.codec_context.time_base = clock
            for number in range(frames):
                frame = av.VideoFrame.from_ndarray(numbered(number, size), format="rgb24")
                frame.pts, frame.time_base = (ticks[number] if ticks else number), clock
                container.mux(stream.encode(frame))
            container.mux(stream.encode())
        return path.read_bytes()


def jittered_ticks(frames: int, *, seed: int = 7) -> list[int]:
    """Times like a phone's that slows down in the dark: gaps of 8 to 66 ms."""
    gaps = np.random.default_rng(seed).integers(720, 5940, frames)
    return [int(tick) for tick in np.cumsum(gaps) - gaps[0]]
