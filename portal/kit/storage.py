"""Where files lie, how they get there whole, and whether there is room.

What is kept has a name and lies in Django's default storage: under MEDIA_ROOT, or in a bucket
(FLAGLINE_S3_BUCKET). What is still coming in or being made lies under MEDIA_ROOT in either case.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage
from django.db import transaction
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


def strip_name(code: UUID) -> str:
    """The filmstrip of the recording with this code, a JPEG."""
    return f"strips/{code}.jpg"


def poster_name(code: UUID) -> str:
    """One picture of the recording with this code, a JPEG."""
    return f"posters/{code}.jpg"


def is_here() -> bool:
    """Whether what is kept lies on this machine's own disk, and not in a bucket."""
    return isinstance(default_storage, FileSystemStorage)


def carry(draft: Path, name: str) -> None:
    """Before a transaction that ends in `keep`: a bucket takes the bytes now, which can take long.
    What is carried and not kept in the end must be removed."""
    if not is_here():
        with draft.open("rb") as file:
            default_storage.save(name, File(file))


def keep(draft: Path, name: str) -> None:
    """The draft, which was carried before, is now what the name stands for; and it is there whole
    or not at all. To be called in the transaction that writes the name down."""
    if is_here():
        settle(draft, path_of(name))
    else:
        transaction.on_commit(partial(draft.unlink, missing_ok=True))


def fetched(name: str, *, into: Path) -> Path:
    """A kept file as a path, for programs that read nothing else; out of a bucket it comes into
    this folder. Raises FileNotFoundError."""
    path = path_of(name) if is_here() else into / Path(name).name
    if not is_here():
        with default_storage.open(name) as far, path.open("wb") as near:
            shutil.copyfileobj(far, near)
    if not path.exists():
        raise FileNotFoundError(name)
    return path


@contextmanager
def at_hand(name: str) -> Iterator[Path]:
    """The same, gone afterwards if it was fetched."""
    with workroom() as room:
        yield fetched(name, into=room)


def remove(name: str) -> None:
    """A file that is gone already is no mistake."""
    default_storage.delete(name)


def names(folder: str) -> set[str]:
    """All that is kept in it."""
    try:
        return {f"{folder}/{file}" for file in default_storage.listdir(folder)[1]}
    except FileNotFoundError:
        return set()


def changed_at(name: str) -> datetime:
    """When its bytes were written. Raises FileNotFoundError."""
    return default_storage.get_modified_time(name)


def size_of(name: str) -> int:
    """Bytes. Raises FileNotFoundError."""
    return default_storage.size(name)


def stretch(name: str, first: int, length: int, *, block: int) -> Iterator[bytes]:
    """`length` bytes from `first` on, in blocks. Open only while somebody reads."""
    if is_here():
        with path_of(name).open("rb", buffering=0) as file:
            file.seek(first)
            while length > 0 and (piece := file.read(min(block, length))):
                length -= len(piece)
                yield piece
    elif length:
        bucket: Any = default_storage.bucket  # type: ignore[attr-defined]
        key = default_storage._normalize_name(name)  # type: ignore[attr-defined]
        asked = bucket.Object(key).get(Range=f"bytes={first}-{first + length - 1}")
        with closing(asked["Body"]) as body:
            yield from body.iter_chunks(block)


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
