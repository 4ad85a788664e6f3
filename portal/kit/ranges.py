"""Which bytes of a file a browser asks for (RFC 9110, section 14)."""

from __future__ import annotations

import re
from dataclasses import dataclass

UNIT = "bytes"
# One range: first and last, first alone, or the length of the end.
SPEC = re.compile(r"(?P<first>[0-9]*)-(?P<last>[0-9]*)")
# More digits than any file has bytes; Python refuses to read numbers of thousands of digits.
MAX_DIGITS = 18


class Unsatisfiable(Exception):
    """The range asked for holds no byte of the file: answer 416."""

    def __init__(self, header: str, size: int) -> None:
        super().__init__(f"{header!r} holds no byte of {size}. Ask for 0 to {max(0, size - 1)}.")
        self.size = size


@dataclass(frozen=True)
class Span:
    """Bytes `first` to `last`, both included, of a file of `size`."""

    first: int
    last: int
    size: int

    @property
    def length(self) -> int:
        return self.last - self.first + 1

    @property
    def content_range(self) -> str:
        return f"{UNIT} {self.first}-{self.last}/{self.size}"


def span(header: str | None, size: int) -> Span | None:
    """The bytes that `header` asks for, or None: send the whole file.

    A header in another unit or against the grammar is ignored, as the RFC wants. So are
    several ranges at once, as it allows: players ask for one.
    """
    unit, _, specs = (header or "").partition("=")
    if unit.strip().lower() != UNIT:
        return None
    asked = [spec.strip(" \t") for spec in specs.split(",") if spec.strip(" \t")]
    found = SPEC.fullmatch(asked[0]) if len(asked) == 1 else None
    if not found:
        return None
    first, last = _number(found["first"]), _number(found["last"])
    if first is None:
        return _end(header or "", last, size)
    if last is not None and last < first:
        return None
    if first >= size:
        raise Unsatisfiable(header or "", size)
    return Span(first, size - 1 if last is None else min(last, size - 1), size)


def _end(header: str, length: int | None, size: int) -> Span | None:
    if length is None:
        return None
    if length == 0 or size == 0:
        raise Unsatisfiable(header, size)
    return Span(max(0, size - length), size - 1, size)


def _number(digits: str) -> int | None:
    if not digits:
        return None
    return int(digits) if len(digits.lstrip("0")) <= MAX_DIGITS else 10**MAX_DIGITS
