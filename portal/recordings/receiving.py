"""Taking in a film piece by piece: announced, added to over hours, and a recording at the end."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any
from uuid import uuid4

from django.db import transaction

from portal.jobs import queueing
from portal.jobs.models import Job
from portal.kit import storage
from portal.people.models import Club, User
from portal.recordings import listing, parting, uploading
from portal.recordings.models import Arrival, Recording, Session
from portal.recordings.probing import unusable

KEPT = timedelta(days=3)
BLOCK = 256 * 1024
# A part file without a row may be one whose row is being written.
ORPHAN_SECONDS = 60 * 60
# Systems call some films strange names; these are never one's.
NO_FILMS = ("image/", "audio/", "text/plain", "application/pdf", "application/zip")


class Mismatch(Exception):
    """The bytes are not those of the checksum; none of them was kept."""


@dataclass(frozen=True)
class Announced:
    """What a sender says of a film before any of it comes."""

    name: str
    kind: str
    """Its media type, as the sender knows it."""
    length: int
    said: str = ""
    """Upload-Metadata as it came."""
    fingerprint: str = ""
    """What they say of `uploading.fingerprint`: by that a film that is here already is known."""
    not_to_be_shown: bool = False


def begin(session: Session, film: Announced, *, by: User, at: datetime) -> Arrival:
    """Room for it. Raises uploading.Refused."""
    if film.kind.startswith(NO_FILMS):
        raise uploading.Refused(str(unusable("not a film")))
    if film.fingerprint:
        kept = session.recordings.kept()
        same = kept.filter(size=film.length, fingerprint=film.fingerprint)
        uploading.refuse_if_known(same)
    arrival = Arrival(
        code=uuid4(),
        session=session,
        sent_by=by,
        name=uploading.own_name(film.name),
        length=film.length,
        said=film.said,
        fingerprint=film.fingerprint,
        not_to_be_shown=film.not_to_be_shown,
        began_at=at,
        expires_at=at + KEPT,
    )
    with transaction.atomic():
        # One at a time a club, or two who announce at once would both get the last room.
        club = Club.objects.select_for_update().get(pk=session.squad.club_id)
        uploading.must_fit(film.length, club=club)
        parting.begin(arrival.code)
        arrival.save(force_insert=True)
    return arrival


def broken_off(session: Session, film: Announced, *, by: User, at: datetime) -> Arrival | None:
    """This person's own upload of the same film, in the same words, that was not finished."""
    if not film.fingerprint:
        return None
    own = Arrival.objects.filter(session=session, sent_by=by, recording=None, expires_at__gt=at)
    same = own.filter(fingerprint=film.fingerprint, said=film.said, length=film.length).last()
    return same if same and parting.path_of(same.code).exists() else None


def offset(arrival: Arrival) -> int:
    """Bytes that are here. Raises parting.Gone."""
    try:
        return arrival.length if arrival.recording_id else parting.size(arrival.code)
    except parting.Gone:
        # Unless somebody else has brought the last byte since the row was read. They may be about
        # to say so: their lock is waited for.
        with transaction.atomic():
            held = Arrival.objects.select_for_update().filter(pk=arrival.pk).first()
        if held is None or held.recording_id is None:
            raise
        return arrival.length


def add(arrival: Arrival, blocks: Iterable[bytes], *, offset: int) -> int:
    """Raises parting.Overtaken when `offset` is not where the film ends, parting.Gone, and
    uploading.Refused for a full disk. Gives the new offset; what came through stays."""
    if arrival.recording_id:
        if offset != arrival.length:
            raise parting.Overtaken
        return offset
    try:
        return parting.append(arrival.code, blocks, offset=offset)
    except OSError as error:
        if error.errno not in uploading.DISK_IS_FULL:
            raise
        raise uploading.Full(str(storage.NoRoom())) from error


def checked(
    blocks: Iterable[bytes], *, made_by: Callable[[], Any], wanted: bytes
) -> Iterator[bytes]:
    """The same blocks, once all have come and make the sum; else Mismatch.

    They wait in a file without a name, for what is added to a part file cannot be taken back.
    """
    folder = storage.path_of(storage.INCOMING)
    folder.mkdir(parents=True, exist_ok=True)
    digest = made_by()
    with tempfile.TemporaryFile(dir=folder) as file:
        for block in blocks:
            digest.update(block)
            file.write(block)
        if digest.digest() != wanted:
            raise Mismatch
        file.seek(0)
        yield from iter(partial(file.read, BLOCK), b"")


def finish(arrival: Arrival, *, at: datetime) -> Recording | None:
    """The recording once every byte is here, with the job that makes it ready; None before.

    Two requests may bring the last byte, and a server that is killed here begins again when it
    is next asked: the row decides who is first. Costs a reading of the whole film. After
    uploading.Refused nothing of it is left.
    """
    if arrival.recording_id is None and offset(arrival) == arrival.length:
        try:
            arrival.recording = _land(arrival, at=at)
        except uploading.Refused:
            drop(arrival)
            raise
    return arrival.recording


def _land(arrival: Arrival, *, at: datetime) -> Recording | None:
    part, code = parting.path_of(arrival.code), uuid4()
    original = storage.original_name(code)
    try:
        uploading.must_look_like_a_film(_head(arrival))
        sha256, fingerprint = storage.sha256(part), uploading.fingerprint(part)
        storage.carry(part, original)
    except FileNotFoundError:
        sha256 = fingerprint = ""
    with transaction.atomic():
        held = Arrival.objects.select_for_update().filter(pk=arrival.pk).first()
        if held is None or held.recording or not part.exists():
            # Somebody else was first. On a disk of one's own nothing lies there yet.
            storage.remove(original)
            return held.recording if held else None
        recording = Recording(
            code=code,
            session=arrival.session,
            name=arrival.name,
            filmed_by=arrival.sent_by,
            uploaded_at=at,
            original=original,
            size=arrival.length,
            sha256=sha256,
            fingerprint=fingerprint,
            not_to_be_shown=arrival.not_to_be_shown,
        )
        uploading.keep(part, recording, by=arrival.sent_by, at=at)
        held.recording = recording
        held.save(update_fields=["recording"])
        ask_to_prepare(recording, at=at)
    return recording


def ask_to_prepare(recording: Recording, *, at: datetime) -> Job:
    """The job that makes it ready; asked twice it is the same job."""
    return queueing.enqueue(
        "recordings.prepare",
        key=listing.job_key(recording),
        payload={"recording": str(recording.code)},
        at=at,
    )


def must_be_a_film(arrival: Arrival) -> None:
    """A look at the first bytes, so that nobody sends the rest of a wrong file for nothing.
    Raises uploading.Refused, and then nothing of it is left."""
    try:
        uploading.must_look_like_a_film(_head(arrival))
    except FileNotFoundError:
        # Somebody else has brought the last byte and taken it whole.
        return
    except uploading.Refused:
        drop(arrival)
        raise


def _head(arrival: Arrival) -> bytes:
    with parting.path_of(arrival.code).open("rb") as file:
        return file.read(uploading.HEAD_BYTES)


def drop(arrival: Arrival) -> None:
    """Forget an upload that will not go on. A film that has come in whole stays."""
    Arrival.objects.filter(pk=arrival.pk).delete()
    parting.remove(arrival.code)


def sweep(*, at: datetime) -> None:
    """What nobody goes on with: rows past their time, rows without a file, files without a row."""
    for arrival in Arrival.objects.filter(expires_at__lte=at):
        drop(arrival)
    for arrival in Arrival.objects.filter(recording=None):
        if not parting.path_of(arrival.code).exists():
            Arrival.objects.filter(pk=arrival.pk, recording=None).delete()
    known = {str(code) for code in Arrival.objects.values_list("code", flat=True)}
    for path in parting.all_parts():
        if path.stem not in known and _is_old(path.stat().st_mtime):
            path.unlink(missing_ok=True)


def _is_old(changed: float) -> bool:
    return time.time() - changed > ORPHAN_SECONDS
