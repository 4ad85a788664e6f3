"""Which copy of a clip is played to whom, and when each of its frames is shown."""

from __future__ import annotations

from collections.abc import Collection

from django.core.cache import cache
from django.db.models import Q

from portal.recordings.models import Clip, Rendition


def copy_of(clip: Clip) -> Rendition | None:
    """For staff: the clip's own full copy if it stands, else the light copy of its recording."""
    own_or_whole = Q(clip=clip.pk, kind=Rendition.Kind.FULL) | Q(clip=None)
    found = Rendition.objects.filter(own_or_whole, recording=clip.recording_id)
    return min(found, key=lambda copy: (copy.clip_id is None, copy.pk), default=None)


def copies_of(clips: Collection[Clip]) -> dict[int, Rendition]:
    """The same for many clips, by their ids, in one query, which for one costs more."""
    found = Rendition.objects.filter(
        Q(clip__in=clips, kind=Rendition.Kind.FULL)
        | Q(clip=None, recording__in={clip.recording_id for clip in clips})
    ).order_by("-pk")
    own = {copy.clip_id: copy for copy in found if copy.clip_id}
    whole = {copy.recording_id: copy for copy in found if not copy.clip_id}
    copies = {clip.pk: own.get(clip.pk) or whole.get(clip.recording_id) for clip in clips}
    return {pk: copy for pk, copy in copies.items() if copy}


def family_copy_of(clip: Clip) -> Rendition | None:
    """Only the clip's own copy: in the rest of the recording others swim."""
    return clip.renditions.filter(kind=Rendition.Kind.FULL).first()


def moments(clip: Clip, copy: Rendition) -> list[float]:
    """Seconds from the clip's first frame, one for each of its frames.

    They are kept, since they never change and the copy of a whole take has very many others.
    """

    def read() -> list[float]:
        first = clip.first_frame - copy.first_frame
        ticks = copy.times[first : first + clip.frame_count]
        return [(tick - ticks[0]) / copy.timescale for tick in ticks]

    key = f"moments:{copy.sha256}:{clip.first_frame}:{clip.last_frame}"
    return list(cache.get_or_set(key, read) or ())
