"""Clips cut anew: split, joined, moved, and what was done a moment ago taken back.

A clip never changes its frames, for its copy and its address stand for them: another takes its
place. That is only done as long as nothing hangs on it but its copy.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings import cutting
from portal.recordings.cutting import Refused
from portal.recordings.models import Clip, Recording, Rendition

Marks = tuple[int, int]
"""First and last frame."""


@transaction.atomic
def split(clip: Clip, *, at_frame: int, by: User, at: datetime) -> list[Clip]:
    """Two clips, the second from `at_frame` on. Raises Refused."""
    pieces = [(clip.first_frame, at_frame - 1), (at_frame, clip.last_frame)]
    return _replace([clip], pieces, by=by, at=at)


@transaction.atomic
def move(clip: Clip, *, first_frame: int, last_frame: int, by: User, at: datetime) -> list[Clip]:
    """The same swimmers from `first_frame` to `last_frame`. Raises Refused."""
    return _replace([clip], [(first_frame, last_frame)], by=by, at=at)


def next_of(clip: Clip) -> Clip:
    """The kept clip that begins next in the recording. Raises Refused."""
    clips = clip.recording.clips.kept().exclude(pk=clip.pk).order_by("first_frame", "id")
    other = clips.filter(first_frame__gte=clip.first_frame).first()
    if other is None:
        raise Refused(_("No clip begins after this one, so there is none to join it with."))
    return other


@transaction.atomic
def join(clip: Clip, other: Clip, *, by: User, at: datetime) -> list[Clip]:
    """One clip of both and what lies between, with all who swim in them. Raises Refused."""
    first = min(clip.first_frame, other.first_frame)
    last = max(clip.last_frame, other.last_frame)
    return _replace([clip, other], [(first, last)], by=by, at=at)


@transaction.atomic
def anew(clip: Clip, *, by: User, at: datetime, **cut: Any) -> Clip:  # noqa: ANN401 - as cutting.cut
    """Another in its place, as `cut` says it: other marks, other swimmers, another stroke.
    Raises Refused."""
    _must_be_free([clip])
    made = cutting.cut(clip.recording, **cut, by=by, at=at)
    cutting.remove(clip, by=by, at=at)
    return made


@transaction.atomic
def take_back(
    recording: Recording,
    *,
    made: Collection[Clip],
    removed: Collection[Clip],
    by: User,
    at: datetime,
) -> None:
    """The `made` go and the `removed` are there again. What families saw of those is not: a
    review is published anew for that. Raises Refused, and then nothing has changed."""
    _lock(recording)
    for clip in made:
        if Clip.objects.kept().filter(pk=clip.pk).exists():
            _must_be_bare(clip)
            cutting.remove(clip, by=by, at=at)
    for clip in removed:
        cutting.may_be_shown(recording, list(clip.swimmers.all()))
        if Clip.objects.filter(pk=clip.pk).exclude(removed_at=None).update(removed_at=None):
            note(Entry.Action.MADE, clip, at=at, by=by, club=recording.session.squad.club)


def _replace(
    clips: Sequence[Clip], pieces: Sequence[Marks], *, by: User, at: datetime
) -> list[Clip]:
    """All else as in the first of the clips."""
    pattern, recording = clips[0], clips[0].recording
    _must_be_free(clips)
    swimmers = {swimmer.id: swimmer for clip in clips for swimmer in clip.swimmers.all()}
    made = [
        cutting.cut(
            recording,
            first_frame=first,
            last_frame=last,
            swimmers=list(swimmers.values()),
            stroke=pattern.stroke,
            view=pattern.view,
            effort=pattern.effort,
            equipment=pattern.equipment,
            by=by,
            at=at,
        )
        for first, last in pieces
    ]
    for clip in clips:
        cutting.remove(clip, by=by, at=at)
    return made


def _must_be_free(clips: Sequence[Clip]) -> None:
    """Locks their recording."""
    _lock(clips[0].recording)
    for clip in clips:
        if not Clip.objects.kept().filter(pk=clip.pk).exists():
            raise Refused(_("Somebody else has just changed this clip. Look what is there now."))
        _must_be_bare(clip)


def _lock(recording: Recording) -> None:
    """Two people who change the same clip do so one after the other."""
    row = Recording.objects.select_for_update().get(pk=recording.pk)
    if row.held_at:
        raise Refused(_("The welfare officer holds this film, so its clips stay as they are."))


def _must_be_bare(clip: Clip) -> None:
    """Whatever floor it lies on: what was said about a clip speaks of its frames."""
    is_hidden = Clip.objects.filter(pk=clip.pk, hidden_at__isnull=False).exists()
    has_more = any(
        relation.related_model._base_manager.filter(**{relation.field.name: clip}).exists()
        for relation in Clip._meta.related_objects
        if relation.related_model is not Rendition
    )
    if is_hidden or has_more:
        raise Refused(
            _("Something was said about this clip already, so it stays. Cut another beside it.")
        )
