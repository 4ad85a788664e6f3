"""Which copy of a clip is played to whom."""

from __future__ import annotations

from portal.recordings.models import Clip, Rendition


def copy_of(clip: Clip) -> Rendition | None:
    """For staff: the clip's own full copy if it stands, else the light copy of its recording."""
    return family_copy_of(clip) or clip.recording.renditions.filter(clip=None).first()


def family_copy_of(clip: Clip) -> Rendition | None:
    """Only the clip's own copy: in the rest of the recording others swim."""
    return clip.renditions.filter(kind=Rendition.Kind.FULL).first()
