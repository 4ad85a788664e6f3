"""Part files: bytes are only ever added at the end, and the size of the file is the offset.

No row knows how far an upload is, so that nothing can disagree after a crash.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import UUID

from portal.kit import storage

FOLDER = "arriving"


class Gone(Exception):
    """There is no such part file any more."""


class Overtaken(Exception):
    """The file does not end where these bytes belong: somebody else has added to it."""


def path_of(code: UUID) -> Path:
    return storage.path_of(f"{FOLDER}/{code}.part")


def begin(code: UUID) -> None:
    path = path_of(code)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(exist_ok=False)


def size(code: UUID) -> int:
    """Bytes that are stored. Raises Gone."""
    try:
        return path_of(code).stat().st_size
    except FileNotFoundError as error:
        raise Gone from error


def append(code: UUID, blocks: Iterable[bytes], *, offset: int) -> int:
    """Add `blocks`, the first at byte `offset`; gives where the next byte belongs.

    The file is locked for one block and not for the whole request: a telephone that lost its line
    leaves a request behind that waits for bytes. When its successor comes the file grows by other
    hands, and the forsaken one ends with Overtaken before it writes again.
    """
    _must_end_at(code, offset)
    for block in blocks:
        with _locked(code) as descriptor:
            if os.fstat(descriptor).st_size != offset:
                raise Overtaken
            _write(descriptor, block)
        offset += len(block)
    return offset


def remove(code: UUID) -> None:
    path_of(code).unlink(missing_ok=True)


def all_parts() -> Iterator[Path]:
    folder = storage.path_of(FOLDER)
    return folder.glob("*.part") if folder.is_dir() else iter(())


def _must_end_at(code: UUID, offset: int) -> None:
    if size(code) != offset:
        raise Overtaken


@contextmanager
def _locked(code: UUID) -> Iterator[int]:
    """Opened anew for each block: after the last byte the file is a film, and no longer here."""
    try:
        descriptor = os.open(path_of(code), os.O_WRONLY | os.O_APPEND)
    except FileNotFoundError as error:
        raise Gone from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield descriptor
    finally:
        os.close(descriptor)


def _write(descriptor: int, block: bytes) -> None:
    left = memoryview(block)
    while left:
        left = left[os.write(descriptor, left) :]
