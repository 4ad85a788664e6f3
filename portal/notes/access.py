"""Notes and their pictures for who may read them, or 404."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.recordings.showing import watchable
from portal.review.models import Comment, Review


def notes_for(actor: Actor, code: UUID) -> Review:
    """Of a draft only for the squad's staff, who read it as the family will."""
    reviews = Review.objects.visible_to(actor)
    return get_object_or_404(
        reviews.select_related(
            "swimmer", "session__pool", "session__squad__club", "session__squad__second_adult"
        ).select_related("published_by"),
        code=code,
    )


def taken_back_for(actor: Actor, code: UUID) -> Review | None:
    """Notes that were out and are a draft again, for the family and the second adult, who could
    read them: a mail in their hands leads there."""
    readers = Q(swimmer__in=actor.family_ids) | Q(session__squad__in=actor.seconds)
    drafts = Review.objects.exclude(state=Review.State.PUBLISHED).filter(publishings__gt=0)
    return drafts.filter(readers, code=code).first()


def still_for(actor: Actor, code: UUID) -> Comment:
    """The squad's staff see the stills of drafts too, readers those of the notes they may read."""
    readable = Review.objects.published().visible_to(actor)
    comments = Comment.objects.exclude(still="").filter(
        actor.staff_filter("session__squad") | Q(dropped_at=None, reviews__in=readable)
    )
    comment = get_object_or_404(
        comments.select_related("session__squad", "clip__recording").distinct(), code=code
    )
    squad = comment.session.squad
    if comment.clip is None or not watchable([comment.clip], by=actor, squad=squad):
        raise Http404
    return comment
