"""Clips, comments and reviews as the staff of their squad see them, or 404.

Families and the second adult read a published review on its notes page; the bench is not theirs.
"""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.people.access import Actor, must
from portal.people.models import Squad
from portal.recordings import playing, showing
from portal.recordings.models import Clip, Rendition
from portal.review.models import Comment, Mark, Review


def clip_for(actor: Actor, code: UUID) -> Clip:
    clips = Clip.objects.kept().filter(
        actor.staff_filter("recording__session__squad"), recording__thrown_away_at=None
    )
    clips = clips.select_related("recording__session__squad__club")
    return get_object_or_404(clips, code=code)


def copy_to_watch(actor: Actor, clip: Clip) -> Rendition | None:
    """None while there is none, and when this person may not see the pictures now."""
    copy, squad = playing.copy_of(clip), clip.recording.session.squad
    if copy is None:
        return None
    if copy.clip_id is None:
        may_watch = showing.may_watch_whole(clip.recording, by=actor, squad=squad)
    else:
        may_watch = bool(showing.watchable([clip], by=actor, squad=squad))
    return copy if may_watch else None


def may_see_strip(actor: Actor, clip: Clip) -> bool:
    """The filmstrip of the clip's recording, in which all who swim in it are seen."""
    recording, squad = clip.recording, clip.recording.session.squad
    is_there = bool(recording.strip.get("count"))
    return is_there and showing.may_watch_whole(recording, by=actor, squad=squad)


def mark_for(actor: Actor, code: UUID) -> Mark:
    """Lifted ones too, so that lifting can be taken back."""
    marks = Mark.objects.filter(
        actor.staff_filter("clip__recording__session__squad"),
        clip__in=Clip.objects.kept(),
        clip__recording__thrown_away_at=None,
    )
    marks = marks.select_related("clip__recording__session__squad__club")
    return get_object_or_404(marks, code=code)


def comment_for(actor: Actor, code: UUID) -> Comment:
    """Dropped ones too, so that a drop can be taken back, and those on a clip that was removed,
    which have to be dropped before the rest can be published."""
    comments = Comment.objects.filter(actor.staff_filter("session__squad"), clip__isnull=False)
    comments = comments.select_related("session__squad__club", "checkpoint", "fault")
    return get_object_or_404(comments, code=code)


def deck_note_for(actor: Actor, code: UUID) -> Comment:
    """404 out of sight; 403 for an assistant who did not write it."""
    notes = Comment.objects.filter(actor.staff_filter("session__squad"), clip=None)
    note = get_object_or_404(notes.select_related("session__squad__club"), code=code)
    must(may_change(actor, note.session.squad, author=note.author_id))
    return note


def review_for(actor: Actor, code: UUID) -> Review:
    """Whoever may read it finds it; that only coaches publish is the view's question.

    Staff are looked for first: then nobody has to ask whose parents they are.
    """
    reviews = Review.objects.select_related(
        "session__squad__club", "session__squad__second_adult", "swimmer"
    )
    of_squad = reviews.filter(actor.staff_filter("session__squad", swimmer="swimmer"), code=code)
    return of_squad.first() or get_object_or_404(reviews.visible_to(actor), code=code)


def comment_to_change(actor: Actor, code: UUID) -> Comment:
    """404 out of sight; 403 for an assistant who did not write it."""
    comment = comment_for(actor, code)
    must(may_change(actor, comment.session.squad, author=comment.author_id))
    return comment


def may_change(actor: Actor, squad: Squad, *, author: int) -> bool:
    """Coaches change every comment of their squad, assistants those they wrote."""
    return actor.leads(squad) or author == actor.user.pk
