"""Notes and their pictures for who may read them, or 404."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people import consenting
from portal.people.access import Actor
from portal.people.models import Consent, Squad
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


def taken_back_for(actor: Actor, code: UUID) -> Review | None:
    """Notes that were out and are a draft again, for the family and the second adult, who could
    read them: a mail in their hands leads there."""
    readers = Q(swimmer__in=actor.family_ids) | Q(session__squad__second_adult=actor.user)
    drafts = Review.objects.exclude(state=Review.State.PUBLISHED).filter(publishings__gt=0)
    return drafts.filter(readers, code=code).first()


def still_for(actor: Actor, code: UUID) -> Comment:
    """The squad's staff see the stills of drafts too, readers those of the notes they may read."""
    readable = Review.objects.published().visible_to(actor)
    comments = Comment.objects.exclude(still="").filter(
        actor.staff_filter("session__squad") | Q(dropped_at=None, reviews__in=readable)
    )
    comment = get_object_or_404(
        comments.select_related("session__squad", "clip").distinct(), code=code
    )
    if comment.clip is None or not seen([comment.clip], by=actor, squad=comment.session.squad):
        raise Http404
    return comment


def seen(clips: Collection[Clip], *, by: Actor, squad: Squad) -> set[int]:
    """Ids of the clips of which this person may see pictures today; the squad's staff sees all
    that are kept. Two queries at most."""
    if by.works_with(squad):
        return {clip.id for clip in clips if not clip.removed_at}
    return showable(clips)


def showable(clips: Collection[Clip]) -> set[int]:
    """Ids of the clips that families may see today: kept, and with a yes for every swimmer in
    them. Asked anew each time, so that a no holds at once. Two queries at most."""
    swimmers = {clip.id: list(clip.swimmers.all()) for clip in clips if not clip.removed_at}
    everyone = {swimmer for named in swimmers.values() for swimmer in named}
    yes = consenting.allowed(Consent.Purpose.SHOW, of=everyone)
    return {clip for clip, named in swimmers.items() if named and all(s.id in yes for s in named)}
