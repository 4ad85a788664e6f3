"""Notes and their pictures for who may read them, or 404."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings.models import Clip
from portal.recordings.showing import watchable
from portal.review.models import Comment, Review

# Wide rows, of which a page says little more than names.
READ = (
    "code",
    "state",
    "focus",
    "publishings",
    "swimmer__code",
    "swimmer__first_name",
    "swimmer__born",
    "swimmer__user",
    "session__date",
    "session__pool__name",
    "session__squad__name",
    "session__squad__club__code",
    "session__squad__club__zone",
    "session__squad__second_adult__name",
    "session__squad__second_adult__is_active",
    "published_by__name",
)


def notes_for(actor: Actor, code: UUID) -> Review:
    """Of a draft only for the squad's staff, who read it as the family will.

    Families are looked for first: they read most, and for them the rule is short.
    """
    reviews = Review.objects.select_related(
        "swimmer", "session__pool", "session__squad__club", "session__squad__second_adult"
    )
    reviews = reviews.select_related("published_by").only(*READ)
    if actor.is_family:
        of_family = reviews.published().filter(swimmer__in=actor.family_ids, code=code)
        if review := of_family.first():
            return review
    return get_object_or_404(reviews.visible_to(actor), code=code)


def taken_back_for(actor: Actor, code: UUID) -> Review | None:
    """Notes that were out and are a draft again, for the family and the second adult, who could
    read them: a mail in their hands leads there."""
    readers = Q(swimmer__in=actor.family_ids) | Q(session__squad__in=actor.seconds)
    drafts = Review.objects.exclude(state=Review.State.PUBLISHED).filter(publishings__gt=0)
    return drafts.filter(readers, code=code).first()


def own_child_for(actor: Actor, code: UUID) -> Swimmer:
    """For the family of today."""
    own = Swimmer.objects.filter(id__in=actor.family_ids).select_related("club")
    return get_object_or_404(own, code=code)


def own_clip_for(actor: Actor, code: UUID) -> Clip:
    """A clip that was shown to somebody as family of who swims in it, hidden or not."""
    shown = Clip.objects.kept().filter(
        swimmers__in=actor.family_ids, showings__swimmer__in=actor.family_ids
    )
    clips = shown.select_related("recording__session__squad__club").distinct()
    return get_object_or_404(clips, code=code)


def still_for(actor: Actor, code: UUID) -> Comment:
    """The squad's staff see the stills of drafts too, readers those of the notes they may read."""
    readable = Review.objects.published().visible_to(actor)
    comments = Comment.objects.exclude(still="").filter(
        actor.staff_filter("session__squad") | Q(dropped_at=None, reviews__in=readable)
    )
    comment = get_object_or_404(
        comments.select_related("session__squad__club", "clip__recording").distinct(), code=code
    )
    squad = comment.session.squad
    if comment.clip is None or not watchable([comment.clip], by=actor, squad=squad):
        raise Http404
    return comment
