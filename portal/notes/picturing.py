"""The stills that a reader may see today, of many notes at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from uuid import UUID

from django.urls import reverse

from portal.people.access import Actor
from portal.recordings.models import Clip
from portal.recordings.showing import watchable
from portal.review.models import Comment, Review


def small_still(comment: UUID) -> str:
    """As the pages show it."""
    return f"{reverse('notes:still', args=[comment])}?small"


def pictured(reviews: Collection[Review], *, reader: Actor) -> list[Comment]:
    """The oldest session first. One query, and three for each squad that they are of."""
    rows = Comment.objects.kept().exclude(still="").filter(reviews__in=reviews, clip__isnull=False)
    rows = rows.select_related("clip__recording", "session__squad")
    comments = list(rows.distinct().order_by("session__date", "session_id", "frame", "pk"))
    by_squad: dict[int, list[Clip]] = defaultdict(list)
    for comment in comments:
        if comment.clip:
            by_squad[comment.session.squad_id].append(comment.clip)
    squads = {comment.session.squad_id: comment.session.squad for comment in comments}
    seen: set[int] = set()
    for number, clips in by_squad.items():
        seen |= watchable(clips, by=reader, squad=squads[number])
    return [comment for comment in comments if comment.clip_id in seen]
