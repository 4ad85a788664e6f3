"""Taking in a film: block by block to the disk, and a row only once the whole file is stored."""

from __future__ import annotations

import errno
import hashlib
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit import storage
from portal.people.models import Club, User
from portal.recordings import rooming
from portal.recordings.models import Recording, Session
from portal.recordings.probing import unusable

NAME_LENGTH = Recording._meta.get_field("name").max_length or 120
DISK_IS_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
# What stands at the fifth byte of an MP4 or MOV, and at the first of other films.
BOXES = {b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot", b"uuid"}
BEGINNINGS = (
    b"\x1aE\xdf\xa3",  # Matroska, WebM
    b"RIFF",  # AVI
    b"\x47",  # MPEG-TS
    b"\x00\x00\x01\xba",  # MPEG-PS
    b"FLV",
    b"0&\xb2u",  # ASF
)
HEAD_BYTES = 12
MEBIBYTE = 1024**2
FINGERPRINT_LENGTH = 64


class Refused(Exception):
    """Nothing of the file was kept; the message is for people."""


class TooLarge(Refused):
    """More than a film may have."""


class Full(Refused):
    """The disk, or what the club has given itself of it, has no room for it."""


@dataclass(frozen=True)
class Stored:
    size: int
    sha256: str


def receive(
    session: Session,
    *,
    name: str,
    blocks: Iterable[bytes],
    length: int | None,
    by: User,
    at: datetime,
    not_to_be_shown: bool = False,
) -> Recording:
    """A recording that waits to be made ready, with every byte of `blocks` in its file.

    `length` is what the sender announced, None if nothing. `not_to_be_shown`: somebody without
    consent is in it, and families never see it. Whatever `blocks` raises passes
    through; as after a refusal nothing stays on the disk.
    """
    code = uuid4()
    must_fit(length or 0, club=session.squad.club)
    try:
        with storage.part_file(str(code)) as part:
            stored = _store(blocks, part)
            _must_be_whole(stored.size, length)
            recording = Recording(
                code=code,
                session=session,
                name=own_name(name),
                filmed_by=by,
                uploaded_at=at,
                original=storage.original_name(code),
                size=stored.size,
                sha256=stored.sha256,
                fingerprint=fingerprint(part),
                not_to_be_shown=not_to_be_shown,
            )
            storage.carry(part, str(recording.original))
            keep(part, recording, by=by, at=at)
            return recording
    except OSError as error:
        if error.errno not in DISK_IS_FULL:
            raise
        raise Refused(str(storage.NoRoom())) from error


def must_fit(size: int, *, club: Club) -> None:
    """Refused, unless a film of so many bytes may come in and has room."""
    if size > settings.RECORDING_MAX_BYTES:
        raise TooLarge(str(unusable("too heavy")))
    try:
        storage.must_have_room(size=size)
        rooming.must_fit(club, size)
    except (storage.NoRoom, rooming.ClubIsFull) as error:
        raise Full(str(error)) from error


def _store(blocks: Iterable[bytes], part: Path) -> Stored:
    digest, size, head = hashlib.sha256(), 0, b""
    with part.open("xb") as file:
        for block in blocks:
            if len(head) < HEAD_BYTES:
                head = (head + block)[:HEAD_BYTES]
                must_look_like_a_film(head)
            size += len(block)
            if size > settings.RECORDING_MAX_BYTES:
                raise Refused(str(unusable("too heavy")))
            digest.update(block)
            file.write(block)
        file.flush()
        os.fsync(file.fileno())
    return Stored(size, digest.hexdigest())


def must_look_like_a_film(head: bytes) -> None:
    """A quick look that spares somebody the upload of a wrong file; `probing` judges."""
    if len(head) < HEAD_BYTES:
        return
    # Camcorders put four bytes of their own before each packet of MPEG-TS.
    is_film = head[4:8] in BOXES or head.startswith(BEGINNINGS) or head[4:5] == b"\x47"
    if not is_film:
        raise Refused(str(unusable("not a film")))


def fingerprint(path: Path) -> str:
    """SHA-256 in hex of the first MEBIBYTE and of the last one, which may overlap.

    A browser reads it in a moment and says it before it sends gigabytes (sending.js). It proves
    nothing: what came in is told apart by the sum over all of it.
    """
    with path.open("rb") as file:
        digest = hashlib.sha256(file.read(MEBIBYTE))
        file.seek(max(0, path.stat().st_size - MEBIBYTE))
        digest.update(file.read(MEBIBYTE))
    return digest.hexdigest()


def _must_be_whole(size: int, length: int | None) -> None:
    if length is not None and size != length:
        raise Refused(
            _(
                "The upload broke off: %(size)d of %(length)d bytes came through, and nothing "
                "was kept. Upload the film again."
            )
            % {"size": size, "length": length}
        )
    if size == 0:
        raise Refused(str(unusable("empty")))


def keep(part: Path, recording: Recording, *, by: User, at: datetime) -> None:
    """File and row together, or neither. The file was carried before."""
    session, original = recording.session, str(recording.original)
    detail = {"what": "not to be shown"} if recording.not_to_be_shown else {}
    try:
        with transaction.atomic():
            # One at a time a session, or the same film sent twice at once would come in twice.
            Session.objects.select_for_update().get(pk=session.pk)
            _must_be_new(recording)
            storage.keep(part, original)
            recording.save(force_insert=True)
            size, club = recording.size, session.squad.club
            note(Entry.Action.MADE, recording, at=at, by=by, club=club, size=size, **detail)
    except BaseException:
        storage.remove(original)
        raise


def _must_be_new(recording: Recording) -> None:
    kept = recording.session.recordings.kept()
    refuse_if_known(kept.filter(sha256=recording.sha256))


def refuse_if_known(same: QuerySet[Recording]) -> None:
    """Refused, if there is one."""
    if known := same.first():
        raise Refused(
            _("This film is already in this session, as “%(name)s”.") % {"name": known.name}
        )


def own_name(name: str) -> str:
    """The last part of a path from any system, without what cannot be printed."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(letter for letter in last if letter.isprintable()).strip()[:NAME_LENGTH] or _(
        "film"
    )
