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
from portal.recordings.models import Clip, Recording, Rendition, pack_times
from portal.recordings.probing import Facts, Film, Unusable

Kind = Rendition.Kind
RowT = TypeVar("RowT", bound=models.Model)
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
    film: Film
    size: int
    sha256: str

    @classmethod
    def of(cls, path: Path) -> Draft:
        storage.flush(path)
        return cls(path, probing.read(path), path.stat().st_size, storage.sha256(path))


def prepare(recording: Recording, *, at: datetime, report: Report) -> None:
    """Facts, light copy, poster and filmstrip; the recording is ready afterwards.

    Raises Unusable or storage.NoRoom with a message for people, and leaves everything as it was.
    """
    if recording.thrown_away_at:
        return
    source = _original(recording)
    storage.must_have_room()
    facts = probing.probe(source)
    strip = Strip.of(facts)
    with storage.workroom() as room:
        encoding.copy_with_pictures(source, facts, strip, into=room, report=report)
        draft = Draft.of(room / encoding.COPY)
        guesses = proposing.stretches(
            encoding.glimpses(room),
            every=proposing.spacing(facts.rate, facts.frame_count),
            rate=facts.rate,
            frames=len(draft.film.ticks),
        )
        # As ffmpeg counts it, which later jumps to stretches; other tools may differ.
        facts = replace(facts, start=float(encoding.moments(room)[0]))
        with transaction.atomic():
            if _is_kept(Recording.objects.kept(), recording):
                storage.settle(room / encoding.POSTER_FILE, storage.poster_path(recording.code))
                storage.settle(room / encoding.STRIP_FILE, storage.strip_path(recording.code))
                _write_down(draft, recording, None, Kind.LIGHT, at=at)
                shown = strip.as_json(len(draft.film.ticks))
                if guesses:
                    shown["guesses"] = [asdict(guess) for guess in guesses]
                _make_ready(recording, facts, shown, draft.film.facts, at=at)
    _tidy(recording, recording.code)


def prepare_clip(clip: Clip, *, at: datetime, report: Report) -> None:
    """The full copy of the clip's stretch, made from the original.

    Raises Unusable or storage.NoRoom with a message for people; NotReady.
    """
    if clip.removed_at:
        return
    recording = clip.recording
    light = recording.renditions.filter(clip=None, kind=Kind.LIGHT).first()
    if light is None:
        raise NotReady(clip)
    source = _original(recording)
    ticks = light.times
    times = [Fraction(tick - ticks[0], light.timescale) for tick in ticks]
    stretch = Stretch(clip.first_frame, clip.last_frame, times)
    facts = Facts(**recording.facts)
    with storage.workroom() as room:
        encoding.copy_stretch(source, facts, stretch, into=room, report=report)
        draft = Draft.of(room / encoding.COPY)
        _must_be_the_same(draft.film, stretch)
        with transaction.atomic():
            if _is_kept(Clip.objects.kept(), clip):
                _write_down(draft, recording, clip, Kind.FULL, at=at)
    _tidy(recording, clip.code)


def give_up(recording: Recording, *, problem: str, at: datetime) -> None:
    """The recording cannot be used; people read why. A copy that stands is not touched."""
    waiting = Recording.objects.filter(pk=recording.pk, state=Recording.State.WAITING)
    if waiting.update(state=Recording.State.FAILED, problem=problem):
        _note(recording, Recording.State.FAILED, at=at)


def _original(recording: Recording) -> Path:
    path = Path(recording.original.path) if recording.original else None
    if path is None or not path.exists():
        raise Unusable(
            _(
                "The original file is no longer kept, so no new copy can be made of it. "
                "Upload the film again if you still have it."
            )
        )
    return path


def _is_kept(rows: QuerySet[RowT], row: RowT) -> bool:
    """Locks the row until the transaction ends; nobody may have thrown it away meanwhile."""
    return rows.select_for_update().filter(pk=row.pk).first() is not None


def _write_down(
    draft: Draft, recording: Recording, clip: Clip | None, kind: Kind, *, at: datetime
) -> None:
    """The move stands in the caller's transaction, so that `_tidy` never meets half of it."""
    name = f"copies/{(clip or recording).code}-{uuid4().hex}.mp4"
    storage.settle(draft.path, storage.path_of(name))
    recording.renditions.filter(clip=clip, kind=kind).delete()
    Rendition.objects.create(
        recording=recording,
        clip=clip,
        kind=kind,
        file=name,
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
    """Remove files that an earlier run or a killed worker left beside the copy that counts."""
    with transaction.atomic():
        Recording.objects.select_for_update().get(pk=recording.pk)
        counting = set(recording.renditions.values_list("file", flat=True))
        for path in storage.path_of("copies").glob(f"{code}-*.mp4"):
            if f"copies/{path.name}" not in counting:
                path.unlink(missing_ok=True)


def _note(recording: Recording, state: Recording.State, *, at: datetime) -> None:
    club = recording.session.squad.club
    note(Entry.Action.CHANGED, recording, at=at, by=None, club=club, state=state)
