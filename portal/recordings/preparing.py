"""From the file that somebody filmed to the copies that people look at.

Nothing is visible before it is whole: copies are made in a folder of their own, moved to their
places and written down in one short transaction. A second run of the same work ends in the
same state, one set of files, also when two workers do it at once.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import TypeVar
from uuid import UUID, uuid4

from django.db import models, transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit import storage
from portal.recordings import encoding, probing, proposing
from portal.recordings.encoding import Report, Stretch
from portal.recordings.fitting import Strip
from portal.recordings.models import Clip, Recording, Rendition
from portal.recordings.probing import Facts, Film, Unusable
from portal.recordings.timing import pack_times

Kind = Rendition.Kind
RowT = TypeVar("RowT", bound=models.Model)
# The copy of a shorter film is there as soon as anybody looks.
LONG_SECONDS = 60
# Two copies of one film may tick at different rates; no frame may move by more than this.
SAME_SECONDS = Fraction(1, 1000)


class NotReady(Exception):
    """A clip's copy was asked for before its recording was ready."""

    def __init__(self, clip: Clip) -> None:
        super().__init__(f"The recording of clip {clip.code} has no light copy. Prepare it first.")


@dataclass(frozen=True)
class Draft:
    """A whole copy that is not in its place yet."""

    path: Path
    name: str
    """Under which it will be kept."""
    film: Film
    size: int
    sha256: str

    @classmethod
    def of(cls, path: Path, *, code: UUID) -> Draft:
        storage.flush(path)
        name = f"copies/{code}-{uuid4().hex}.mp4"
        return cls(path, name, probing.read(path), path.stat().st_size, storage.sha256(path))


def prepare(recording: Recording, *, at: datetime, report: Report) -> None:
    """Facts, light copy, poster and filmstrip; the recording is ready afterwards.

    Raises Unusable or storage.NoRoom with a message for people, and leaves everything as it was.
    """
    if recording.thrown_away_at:
        return
    storage.must_have_room()
    with storage.workroom() as room:
        source = _original(recording, into=room)
        facts = probing.probe(source)
        strip = Strip.of(facts)
        if facts.duration >= LONG_SECONDS and recording.state == Recording.State.WAITING:
            _show_early(recording, source, facts, room)
        encoding.copy_with_pictures(source, facts, strip, into=room, report=report)
        draft = Draft.of(room / encoding.COPY, code=recording.code)
        guesses = proposing.stretches(
            encoding.glimpses(room),
            every=proposing.spacing(facts.rate, facts.frame_count),
            rate=facts.rate,
            frames=len(draft.film.ticks),
        )
        # As ffmpeg counts it, which later jumps to stretches; other tools may differ.
        facts = replace(facts, start=float(encoding.moments(room)[0]))
        pictures = {
            encoding.POSTER_FILE: storage.poster_name(recording.code),
            encoding.STRIP_FILE: storage.strip_name(recording.code),
        }
        storage.carry(draft.path, draft.name)
        for picture, name in pictures.items():
            storage.carry(room / picture, name)
        with transaction.atomic():
            if _is_kept(Recording.objects.kept(), recording):
                for picture, name in pictures.items():
                    storage.keep(room / picture, name)
                _write_down(draft, recording, None, Kind.LIGHT, at=at)
                shown = strip.as_json(len(draft.film.ticks))
                if guesses:
                    shown["guesses"] = [asdict(guess) for guess in guesses]
                _make_ready(recording, facts, shown, draft.film.facts, at=at)
    _tidy(recording, recording.code)


def _show_early(recording: Recording, source: Path, facts: Facts, room: Path) -> None:
    """What is on a long film is seen minutes before it can be sorted. The true filmstrip takes
    this one's place; where none can be made, nothing is lost."""
    try:
        picture = encoding.first_look(source, facts, into=room)
        name = storage.strip_name(recording.code)
        storage.carry(picture, name)
    except (Unusable, encoding.Killed, OSError):
        return
    with transaction.atomic():
        if _is_kept(Recording.objects.kept(), recording):
            storage.keep(picture, name)
            Recording.objects.filter(pk=recording.pk).update(strip={"is_early": True})


def prepare_clip(clip: Clip, *, at: datetime, report: Report) -> None:
    """The full copy of the clip's stretch, made from the original as long as that is kept.

    Raises Unusable or storage.NoRoom with a message for people; NotReady.
    """
    if clip.removed_at:
        return
    recording = clip.recording
    light = recording.renditions.filter(clip=None, kind=Kind.LIGHT).first()
    if light is None:
        raise NotReady(clip)
    ticks = light.times
    times = [Fraction(tick - ticks[0], light.timescale) for tick in ticks]
    stretch = Stretch(clip.first_frame, clip.last_frame, times)
    with storage.workroom() as room:
        source, facts = _best(recording, light, into=room)
        encoding.copy_stretch(source, facts, stretch, into=room, report=report)
        draft = Draft.of(room / encoding.COPY, code=clip.code)
        _must_be_the_same(draft.film, stretch)
        storage.carry(draft.path, draft.name)
        with transaction.atomic():
            if _is_kept(Clip.objects.kept(), clip):
                _write_down(draft, recording, clip, Kind.FULL, at=at)
    _tidy(recording, clip.code)


def give_up(recording: Recording, *, problem: str, at: datetime) -> None:
    """The recording cannot be used; people read why. A copy that stands is not touched."""
    waiting = Recording.objects.filter(pk=recording.pk, state=Recording.State.WAITING)
    if waiting.update(state=Recording.State.FAILED, problem=problem):
        _note(recording, Recording.State.FAILED, at=at)


def _best(recording: Recording, light: Rendition, *, into: Path) -> tuple[Path, Facts]:
    """The original; once the club's days for it are over the light copy, which is the same film
    frame by frame, in the light copy's size."""
    if recording.original_went_at is None:
        return _original(recording, into=into), Facts(**recording.facts)
    source = storage.fetched(str(light.file), into=into)
    return source, probing.probe(source)


def _original(recording: Recording, *, into: Path) -> Path:
    try:
        if not recording.original:
            raise FileNotFoundError
        return storage.fetched(str(recording.original), into=into)
    except FileNotFoundError as error:
        raise Unusable(
            _(
                "The original file is no longer kept, so no new copy can be made of it. "
                "Upload the film again if you still have it."
            )
        ) from error


def _is_kept(rows: QuerySet[RowT], row: RowT) -> bool:
    """Locks the row until the transaction ends; nobody may have thrown it away meanwhile."""
    return rows.select_for_update().filter(pk=row.pk).first() is not None


def _write_down(
    draft: Draft, recording: Recording, clip: Clip | None, kind: Kind, *, at: datetime
) -> None:
    """The move stands in the caller's transaction, so that `_tidy` never meets half of it."""
    storage.keep(draft.path, draft.name)
    recording.renditions.filter(clip=clip, kind=kind).delete()
    Rendition.objects.create(
        recording=recording,
        clip=clip,
        kind=kind,
        file=draft.name,
        size=draft.size,
        sha256=draft.sha256,
        width=draft.film.facts.width,
        height=draft.film.facts.height,
        first_frame=clip.first_frame if clip else 0,
        frame_count=len(draft.film.ticks),
        timescale=draft.film.base.denominator,
        packed_times=pack_times([tick * draft.film.base.numerator for tick in draft.film.ticks]),
        made_at=at,
    )


def _make_ready(
    recording: Recording, facts: Facts, strip: dict[str, object], copied: Facts, *, at: datetime
) -> None:
    """The copy's frames are the recording's from here on, also where the file promised more."""
    true = replace(facts, frame_count=copied.frame_count, duration=copied.duration)
    Recording.objects.filter(pk=recording.pk).update(
        state=Recording.State.READY,
        problem=_shortcoming(facts, copied.frame_count),
        facts=true.as_json(),
        strip=strip,
    )
    _note(recording, Recording.State.READY, at=at)


def _shortcoming(facts: Facts, frames: int) -> str:
    if facts.is_cut_short:
        return _(
            "The file ends before the film does: it was cut short when it was copied. What came "
            "through is here. For the rest, copy it from the camera again and upload that."
        )
    lost = facts.frame_count - frames
    if lost <= 0:
        return ""
    return ngettext(
        "The film is damaged and was shortened: %(lost)d of its %(all)d pictures is missing.",
        "The film is damaged and was shortened: %(lost)d of its %(all)d pictures are missing.",
        lost,
    ) % {"lost": lost, "all": facts.frame_count}


def _must_be_the_same(film: Film, stretch: Stretch) -> None:
    """As many frames as the recording has there, at the same distances."""
    times = stretch.times[stretch.first : stretch.last + 1]
    is_same = len(film.ticks) == len(times) and all(
        abs((tick - film.ticks[0]) * film.base - (time - times[0])) <= SAME_SECONDS
        for tick, time in zip(film.ticks, times, strict=True)
    )
    if not is_same:
        raise Unusable(
            _(
                "This stretch cannot be copied picture for picture, the film is damaged there. "
                "Cut the clip anew, a little earlier or later."
            )
        )


def _tidy(recording: Recording, code: UUID) -> None:
    """Remove files that an earlier run or a killed worker left beside the copy that counts.

    Not in a bucket, where another's copy may have been carried and wait to be written down; there
    `sweeping` does it when that can no longer be.
    """
    if not storage.is_here():
        return
    with transaction.atomic():
        Recording.objects.select_for_update().get(pk=recording.pk)
        counting = set(recording.renditions.values_list("file", flat=True))
        for name in storage.names("copies") - counting:
            if name.startswith(f"copies/{code}-"):
                storage.remove(name)


def _note(recording: Recording, state: Recording.State, *, at: datetime) -> None:
    club = recording.session.squad.club
    note(Entry.Action.CHANGED, recording, at=at, by=None, club=club, state=state)
