"""Laying clips open to a swimmer's family, and taking them away again."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from portal.people.models import Swimmer
from portal.recordings.models import Clip, Showing


def show(clips: Iterable[Clip], *, to: Swimmer, at: datetime) -> None:
    """A clip that lies open already keeps its day; one that was removed stays shut."""
    kept = Clip.objects.kept().filter(pk__in=[clip.pk for clip in clips])
    Showing.objects.bulk_create(
        [Showing(clip=clip, swimmer=to, since=at) for clip in kept], ignore_conflicts=True
    )


def hide(clips: Iterable[Clip], *, to: Swimmer) -> None:
    Showing.objects.filter(clip__in=[clip.pk for clip in clips], swimmer=to).delete()
