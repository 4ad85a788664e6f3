"""Notes and their pictures for who may read them, or 404."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people import consenting
from portal.people.access import Actor
from portal.people.models import Consent
from portal.recordings.models import Clip
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


def still_for(actor: Actor, code: UUID) -> Comment:
    """The squad's staff see every still, readers those of the notes that they may read."""
    readable = Review.objects.published().visible_to(actor)
    comments = Comment.objects.exclude(still="").filter(
        actor.staff_filter("session__squad") | Q(dropped_at=None, reviews__in=readable)
    )
    comment = get_object_or_404(
        comments.select_related("session__squad", "clip").distinct(), code=code
    )
    works_there = actor.works_with(comment.session.squad)
    if comment.clip is None or not (works_there or comment.clip_id in showable([comment.clip])):
        raise Http404
    return comment


def showable(clips: Collection[Clip]) -> set[int]:
    """Ids of the clips that families may see today: kept, and with a yes for every swimmer in
    them. Asked anew each time, so that a no holds at once. Two queries at most."""
    swimmers = {clip.id: list(clip.swimmers.all()) for clip in clips if not clip.removed_at}
    everyone = {swimmer for named in swimmers.values() for swimmer in named}
    yes = consenting.allowed(Consent.Purpose.SHOW, of=everyone)
    return {clip for clip, named in swimmers.items() if named and all(s.id in yes for s in named)}
