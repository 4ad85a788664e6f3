"""Sessions, recordings, clips and copies by their codes, or 404."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.recordings import fetching, showing
from portal.recordings.models import Arrival, Clip, Recording, Rendition, Session


def session_for(actor: Actor, code: UUID) -> Session:
    sessions = Session.objects.visible_to(actor).select_related("squad__club", "pool")
    return get_object_or_404(sessions, code=code)


def recording_for(actor: Actor, code: UUID) -> Recording:
    recordings = Recording.objects.visible_to(actor).kept()
    return get_object_or_404(
        recordings.select_related("session__squad__club", "session__pool"), code=code
    )


def arrival_for(actor: Actor, code: UUID) -> Arrival:
    arrivals = Arrival.objects.visible_to(actor)
    return get_object_or_404(
        arrivals.select_related("session__squad__club", "sent_by", "recording"), code=code
    )


def picture_for(actor: Actor, code: UUID) -> Recording:
    """For its poster and strip, which show all who swim in it."""
    watched = Recording.objects.watched_by(actor).select_related("session__squad__club")
    return get_object_or_404(watched, code=code)


def clip_for(actor: Actor, code: UUID) -> Clip:
    """Whoever sees it finds it, and staff also one whose pictures are shut; that only staff may
    change it is the view's question."""
    clips = Clip.objects.select_related("recording__session__squad__club")
    of_squad = clips.kept().filter(
        actor.staff_filter("recording__session__squad"), recording__thrown_away_at=None, code=code
    )
    return of_squad.first() or get_object_or_404(clips.visible_to(actor), code=code)


def copy_for(actor: Actor, code: UUID) -> Rendition:
    """Without its frame times, which can be long; they are read when asked for.

    A player asks this for every stretch of film, so the rule of `visible_to` is put here to the
    one copy, which takes an eighth of the time that the filter takes.
    """
    copy = fetching.copy_of(code)
    if copy is None:
        raise Http404
    squad = copy.recording.session.squad
    if copy.clip:
        may_watch = bool(showing.watchable([copy.clip], by=actor, squad=squad))
    else:
        may_watch = showing.may_watch_whole(copy.recording, by=actor, squad=squad)
    if may_watch:
        return copy
    raise Http404
