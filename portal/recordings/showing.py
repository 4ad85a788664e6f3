"""Laying clips open to a swimmer's family, and taking them away again."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from portal.people import consenting
from portal.people.access import Actor
from portal.people.models import Consent, Squad, Swimmer
from portal.recordings.models import Clip, Showing


def show(clips: Iterable[Clip], *, to: Swimmer, at: datetime) -> None:
    """A clip that lies open already keeps its day; one that was removed stays shut."""
    kept = Clip.objects.kept().filter(pk__in=[clip.pk for clip in clips])
    Showing.objects.bulk_create(
        [Showing(clip=clip, swimmer=to, since=at) for clip in kept], ignore_conflicts=True
    )


def hide(clips: Iterable[Clip], *, to: Swimmer) -> None:
    Showing.objects.filter(clip__in=[clip.pk for clip in clips], swimmer=to).delete()


def is_open(clip: Clip, *, to: Actor, of: Squad) -> bool:
    """What `Clip.objects.visible_to` says to those who do not work with the clip's squad `of`,
    asked of one kept clip: a reader of a published review, and a yes of everybody in it."""
    shown = set(clip.showings.values_list("swimmer_id", flat=True))
    if not shown or not (shown & to.family_ids or of.second_adult_id == to.user.pk):
        return False
    swimmers = list(clip.swimmers.all())
    yes = consenting.allowed(Consent.Purpose.SHOW, of=swimmers)
    return all(swimmer.id in yes for swimmer in swimmers)
