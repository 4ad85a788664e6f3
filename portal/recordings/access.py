"""Sessions, recordings, clips and copies by their codes, or 404."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.recordings.models import Clip, Recording, Rendition, Session


def session_for(actor: Actor, code: UUID) -> Session:
    sessions = Session.objects.visible_to(actor).select_related("squad__club", "pool")
    return get_object_or_404(sessions, code=code)


def recording_for(actor: Actor, code: UUID) -> Recording:
    recordings = Recording.objects.visible_to(actor).kept()
    return get_object_or_404(
        recordings.select_related("session__squad__club", "session__pool"), code=code
    )


def clip_for(actor: Actor, code: UUID) -> Clip:
    clips = Clip.objects.visible_to(actor)
    return get_object_or_404(clips.select_related("recording__session__squad__club"), code=code)


def copy_for(actor: Actor, code: UUID) -> Rendition:
    """Without its frame times, which can be long; they are read when asked for."""
    copies = Rendition.objects.visible_to(actor).defer("packed_times")
    return get_object_or_404(
        copies.select_related("recording__session__squad__club", "clip"), code=code
    )
