"""A film's pictures as they should look, worked out from the decoded planes by these few lines
and from the file's own matrix, without any filter of the tool that makes the copies."""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[np.float32]
"""Height x width x red, green, blue; 0 to 1."""
Matrix = tuple[int, int, int, int]
UPRIGHT: Matrix = (1, 0, 0, 1)
# Share of red and of blue in brightness: ITU-R BT.601-7 2.5.1, BT.709-6 3.2, BT.2020-2 table 4.
WEIGHTS = {"601": (0.299, 0.114), "709": (0.2126, 0.0722), "2020": (0.2627, 0.0593)}
# By the numbers of ISO/IEC 23091-2, 8.3; 2 is "not said".
MATRICES = {1: "709", 5: "601", 6: "601", 9: "2020"}
HD_LINES = 720
FULL_RANGE = 2


@dataclass(frozen=True)
class Decoded:
    """Every frame's time in seconds from the first one, and some pictures by their numbers."""

    times: list[Fraction]
    pictures: dict[int, Pixels]


def decode(path: Path, *, stream: int, shown: Sequence[int]) -> Decoded:
    """`shown`: which pictures to keep, as they are stored, neither turned nor tone mapped."""
    times: list[Fraction] = []
    pictures: dict[int, Pixels] = {}
    with av.open(str(path), metadata_errors="replace") as container:
        for number, frame in enumerate(_frames(container, stream)):
            times.append(Fraction(frame.pts or 0) * (frame.time_base or 0))
            if number in shown:
                pictures[number] = colours(frame)
    return Decoded([moment - times[0] for moment in times], pictures)


def _frames(container: av.container.InputContainer, stream: int) -> Iterator[av.VideoFrame]:
    for frame in container.decode(container.streams[stream]):
        if isinstance(frame, av.VideoFrame):
            yield frame


def colours(frame: av.VideoFrame) -> Pixels:
    """Red, green and blue of one frame, from its three planes."""
    deep = "10" in frame.format.name
    largest = 1023 if deep else 255
    luma, blue, red = (_plane(frame, number, deep=deep) / largest for number in range(3))
    if frame.color_range == FULL_RANGE or frame.format.name.startswith("yuvj"):
        blue, red = blue - 128 / 255, red - 128 / 255
    else:
        luma = (luma * 255 - 16) / 219
        blue, red = (blue * 255 - 128) / 224, (red * 255 - 128) / 224
    # What is not said is guessed as browsers do it: by the number of lines.
    guess = "709" if frame.height >= HD_LINES else "601"
    share_red, share_blue = WEIGHTS[MATRICES.get(frame.colorspace, guess)]
    r = luma + 2 * (1 - share_red) * red
    b = luma + 2 * (1 - share_blue) * blue
    g = (luma - share_red * r - share_blue * b) / (1 - share_red - share_blue)
    return np.clip(np.stack([r, g, b], axis=-1), 0, 1)


def _plane(frame: av.VideoFrame, number: int, *, deep: bool) -> Pixels:
    """As large as the picture; chroma is repeated."""
    plane = frame.planes[number]
    rows = np.frombuffer(bytes(plane), np.uint16 if deep else np.uint8)
    rows = rows.reshape(plane.height, -1)[:, : plane.width].astype(np.float32)
    down, across = -(-frame.height // plane.height), -(-frame.width // plane.width)
    return np.repeat(np.repeat(rows, down, 0), across, 1)[: frame.height, : frame.width]


def turned(picture: Pixels, matrix: Matrix) -> Pixels:
    """The picture where `matrix` (a, b, c, d) puts it: x' = a x + c y, y' = b x + d y."""
    a, b, c, d = matrix
    if a == 0:
        picture = picture.transpose(1, 0, 2)
        a, d = c, b
    if a < 0:
        picture = picture[:, ::-1]
    return picture[::-1] if d < 0 else picture


def matrix_of(path: Path) -> Matrix:
    """As the film's track header has it (ISO/IEC 14496-12, 8.3.2); UPRIGHT in other files."""
    whole = path.read_bytes()
    if whole[4:8] != b"ftyp":
        return UPRIGHT
    for track in _boxes(_box(whole, b"moov"), b"trak"):
        if _box(_box(track, b"mdia"), b"hdlr")[8:12] == b"vide":
            header = _box(track, b"tkhd")
            at = 52 if header[0] == 1 else 40
            a, b, _u, c, d = struct.unpack(">5i", header[at : at + 20])
            found = tuple((value > 0) - (value < 0) for value in (a, b, c, d))
            return found if abs(found[0]) + abs(found[1]) == 1 else UPRIGHT
    return UPRIGHT


def _box(data: bytes, name: bytes) -> bytes:
    return next(_boxes(data, name), b"")


def _boxes(data: bytes, name: bytes) -> Iterator[bytes]:
    at = 0
    while at + 8 <= len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        head = 8
        if size == 1:
            size, head = struct.unpack(">Q", data[at + 8 : at + 16])[0], 16
        size = size or len(data) - at
        if size < head:
            return
        if kind == name:
            yield data[at + head : at + size]
        at += size


def small(picture: Pixels, size: tuple[int, int] = (48, 48)) -> Pixels:
    """The mean colours of a grid, so that a copy may be compared that is smaller than its film."""
    image = Image.fromarray(np.round(picture * 255).astype(np.uint8))
    return np.asarray(image.resize(size, Image.Resampling.BOX), np.float32) / np.float32(255)


def apart(one: Pixels, other: Pixels) -> float:
    """Mean difference of a colour, in steps of 255."""
    return float(np.abs(one - other).mean() * 255)
