"""Sessions, recordings, clips and copies by their codes, or 404."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.recordings import showing
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
    """Without its frame times, which can be long; they are read when asked for.

    A player asks this for every stretch of film, so the rule of `visible_to` is put here to the
    one copy, which takes a third of the time that the filter takes.
    """
    copies = Rendition.objects.filter(recording__thrown_away_at=None, clip__removed_at=None)
    copy = get_object_or_404(
        copies.defer("packed_times").select_related("recording__session__squad__club", "clip"),
        code=code,
    )
    squad = copy.recording.session.squad
    if actor.works_with(squad) or (copy.clip and showing.is_open(copy.clip, to=actor, of=squad)):
        return copy
    raise Http404
