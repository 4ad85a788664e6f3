"""Where files lie under MEDIA_ROOT, how they get there whole, and whether there is room."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _

INCOMING = "incoming"
WORKROOMS = "making"
# What a server that was killed left behind half done goes after this long.
STALE_SECONDS = 24 * 60 * 60


class NoRoom(Exception):
    """The disk is full, or nearly; the message is for people."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "There is no room left on the portal's disk. Ask whoever runs the portal to make "
                "some, then try again."
            )
        )


def path_of(name: str) -> Path:
    """The file that a FileField calls `name`."""
    return Path(settings.MEDIA_ROOT) / name


def original_name(code: UUID) -> str:
    """Without the suffix it came with: nothing may take it for more than bytes."""
    return f"originals/{code}.film"


def strip_path(code: UUID) -> Path:
    """The filmstrip of the recording with this code, a JPEG."""
    return path_of(f"strips/{code}.jpg")


def poster_path(code: UUID) -> Path:
    """One picture of the recording with this code, a JPEG."""
    return path_of(f"posters/{code}.jpg")


def room() -> int:
    """Bytes that may still be written before the spare ones are touched; negative: none."""
    root = Path(settings.MEDIA_ROOT)
    root.mkdir(parents=True, exist_ok=True)
    return shutil.disk_usage(root).free - settings.RECORDING_SPARE_BYTES


def must_have_room(*, size: int = 0) -> int:
    """Raises NoRoom unless `size` bytes fit; gives the room there is."""
    left = room()
    if left <= size:
        raise NoRoom
    return left


@contextmanager
def part_file(name: str) -> Iterator[Path]:
    """A path for a file that is still coming in. What was not moved away is gone afterwards."""
    folder = _swept(INCOMING)
    path = folder / f"{name}.part"
    try:
        yield path
    finally:
        path.unlink(missing_ok=True)


@contextmanager
def workroom() -> Iterator[Path]:
    """A folder of one's own on the same disk as everything that `settle` moves out of it."""
    with tempfile.TemporaryDirectory(dir=_swept(WORKROOMS)) as folder:
        yield Path(folder)


def _swept(name: str) -> Path:
    folder = path_of(name)
    folder.mkdir(parents=True, exist_ok=True)
    for path in folder.iterdir():
        if _age(path) > STALE_SECONDS:
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            else:
                path.unlink(missing_ok=True)
    return folder


def _age(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except FileNotFoundError:
        return 0


def settle(draft: Path, target: Path) -> None:
    """Move a whole file to its place, so that after a power cut it is there or not at all."""
    flush(draft)
    target.parent.mkdir(parents=True, exist_ok=True)
    draft.replace(target)
    flush(target.parent)


def flush(path: Path) -> None:
    """See a file or a folder onto the disk itself."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
