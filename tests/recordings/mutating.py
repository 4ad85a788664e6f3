"""Films spoilt by chance, the same each time for the same number."""

from __future__ import annotations

from collections.abc import Callable
from random import Random


def spoilt(whole: bytes, *, number: int) -> bytes:
    """One to three kinds of damage, and no two numbers the same bytes."""
    chance = Random(number)  # noqa: S311 - nothing is kept secret by it
    data = bytearray(whole)
    for _ in range(chance.randint(1, 3)):
        chance.choice(DAMAGES)(data, chance)
    # No session takes the same film twice.
    return bytes(data) + number.to_bytes(4)


def _flip(data: bytearray, chance: Random) -> None:
    for _ in range(chance.randint(1, 60)):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)


def _head(data: bytearray, chance: Random) -> None:
    """Where most formats say how large everything is."""
    for _ in range(chance.randint(1, 12)):
        data[chance.randrange(min(len(data), 3000))] = chance.randrange(256)


def _tail(data: bytearray, chance: Random) -> None:
    """Where phones put the index."""
    for _ in range(chance.randint(1, 12)):
        data[-chance.randint(1, min(len(data), 3000))] = chance.randrange(256)


def _size(data: bytearray, chance: Random) -> None:
    """A box of an MP4 that is larger or smaller than it says."""
    names = [b"moov", b"trak", b"stsz", b"stco", b"stts", b"ctts", b"stsc", b"elst", b"mdat"]
    at = data.find(chance.choice(names))
    if at >= 4:
        data[at - 4 : at] = chance.choice([0, 1, 7, 2**31, chance.randrange(2**32)]).to_bytes(4)


def _count(data: bytearray, chance: Random) -> None:
    """A table of an MP4 that claims other rows than it has."""
    at = data.find(chance.choice([b"stsz", b"stco", b"stts", b"ctts", b"stsc", b"elst", b"dref"]))
    if 0 < at < len(data) - 20:
        place = at + chance.choice([8, 12, 16])
        data[place : place + 4] = chance.randrange(2**32).to_bytes(4)


def _cut(data: bytearray, chance: Random) -> None:
    del data[chance.randrange(1, len(data)) :]


def _drop(data: bytearray, chance: Random) -> None:
    at = chance.randrange(len(data))
    del data[at : at + chance.randint(1, 5000)]
    data.extend(b"\0")


def _blank(data: bytearray, chance: Random) -> None:
    at, length = chance.randrange(len(data)), chance.randint(1, 5000)
    data[at : at + length] = bytes([chance.choice([0, 255])]) * len(data[at : at + length])


def _repeat(data: bytearray, chance: Random) -> None:
    at, length = chance.randrange(len(data)), chance.randint(1, 5000)
    data[at:at] = data[at : at + length] * chance.randint(1, 3)


def _insert(data: bytearray, chance: Random) -> None:
    at = chance.randrange(len(data))
    data[at:at] = chance.randbytes(chance.randint(1, 5000))


DAMAGES: list[Callable[[bytearray, Random], None]] = [
    _flip, _head, _tail, _size, _count, _cut, _drop, _blank, _repeat, _insert,
]  # fmt: skip
