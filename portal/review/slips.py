"""A comment as the bench's scripts read it."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.formats import time_format
from django.utils.timezone import localtime

from portal.people.access import Actor
from portal.people.models import Club
from portal.review.access import may_change
from portal.review.models import Comment, Review


def local_clock(at: datetime, club: Club) -> str:
    """19:42 at the club's own place."""
    return time_format(localtime(at, ZoneInfo(club.zone)), "H:i")


def as_json(comment: Comment, *, actor: Actor) -> dict[str, Any]:
    """Reads the comment's reviews, so prefetch `reviews__swimmer` where there are many."""
    reviews = list(comment.reviews.all())
    tag = comment.tag
    return {
        "code": str(comment.code),
        "version": comment.version,
        "frame": comment.frame,
        "lastFrame": comment.last_frame,
        "verdict": comment.verdict,
        "tag": tag.slug if tag else "",
        "name": tag.name if tag else "",
        "words": comment.words,
        "cue": comment.cue,
        "drill": comment.drill.slug if comment.drill else "",
        "dose": comment.dose,
        "focus": any(review.focus_id == comment.pk for review in reviews),
        "swimmers": [str(review.swimmer.code) for review in reviews],
        "author": comment.author.get_short_name(),
        "isOwn": comment.author_id == actor.user.pk,
        "mayChange": may_change(actor, comment) and not any(map(_is_out, reviews)),
        "isOut": any(map(_is_out, reviews)),
        "made": comment.created_at.timestamp(),
        "isDropped": comment.dropped_at is not None,
        "kept": local_clock(comment.changed_at, comment.session.squad.club),
        "urls": {
            "change": reverse("review:change", args=[comment.code]),
            "drop": reverse("review:drop", args=[comment.code]),
            "restore": reverse("review:restore", args=[comment.code]),
        },
        "publish": [reverse("review:publish", args=[review.code]) for review in reviews],
    }


def _is_out(review: Review) -> bool:
    return review.state == Review.State.PUBLISHED
