"""Reading a PDF back: its words, its pictures, and the colours that stand on the page."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
from numpy.typing import NDArray

POINTS_A_MM = 72 / 25.4
SCALE = 4
"""Pixels a point: 288 dots an inch."""


@dataclass(frozen=True)
class Paper:
    document: Any

    @property
    def pages(self) -> int:
        return len(self.document)

    @property
    def words(self) -> str:
        """All that is written, in one line."""
        texts = (page.get_textpage().get_text_range() for page in self.document)
        return " ".join(" ".join(texts).split())

    def boxes(self) -> list[tuple[float, float, float, float]]:
        """Of every picture on the first page, in points from the lower left: l, b, r, t."""
        found = self.document[0].get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE], max_depth=5)
        return [picture.get_bounds() for picture in found]

    def place_of(self, words: str) -> tuple[float, float, float, float]:
        """Where `words` begin on the first page: the box of their first letter."""
        text = self.document[0].get_textpage()
        hit = text.search(words).get_next()
        assert hit is not None, f"{words!r} does not stand on the page"
        box: tuple[float, float, float, float] = text.get_charbox(hit[0])
        return box

    def pixels(self) -> NDArray[np.uint8]:
        """The first page, height x width x RGB."""
        drawn = self.document[0].render(scale=SCALE).to_pil().convert("RGB")
        return np.asarray(drawn)

    def crop(self, left: float, bottom: float, right: float, top: float) -> NDArray[np.uint8]:
        """Pixels of the first page between places in points from the lower left."""
        pixels = self.pixels()
        first, last = (round(pixels.shape[0] - y * SCALE) for y in (top, bottom))
        return pixels[first:last, round(left * SCALE) : round(right * SCALE)]

    def colour(self, x: float, y: float) -> tuple[int, ...]:
        """At a place in points from the lower left."""
        return tuple(int(v) for v in self.crop(x, y - 1 / SCALE, x + 1 / SCALE, y)[0, 0])


STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.S)


def inside(pdf: bytes) -> bytes:
    """The file with all that is packed in it laid open, to look for what must not be there."""
    return pdf + b"\n".join(_unpacked(packed) for packed in STREAM.findall(pdf))


def _unpacked(packed: bytes) -> bytes:
    try:
        return zlib.decompress(packed)
    except zlib.error:
        return packed


@contextmanager
def opened(pdf: bytes) -> Iterator[Paper]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        yield Paper(document)
    finally:
        document.close()
