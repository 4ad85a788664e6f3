"""What a family's phone may keep for reading without a signal, and until when.

Words and pictures of the newest sessions, never film. The page asks anew whenever it is opened,
and what is not on the list any more goes: after a no, a hiding or the end of a tie, at the
phone's next contact.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from portal.notes.picturing import pictured, small_still
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.replies.models import Reply
from portal.review.models import Review

SESSIONS = 3
"""Of each child."""
DAYS = 14
"""A copy older than that is not shown, whether or not there is a signal."""


@dataclass(frozen=True)
class Shelf:
    pages: list[str]
    stills: list[str]
    stamp: str
    """Another one as soon as anything on it is another: what was kept is fetched anew."""


def shelf(actor: Actor, *, holder: str) -> Shelf:
    """Empty for whoever is no family; `holder` is the child whose view the phone shows, if any.
    Four queries, and three for each squad of the notes."""
    if not actor.is_family:
        return Shelf([], [], "")
    children = list(Swimmer.objects.filter(id__in=actor.family_ids))
    reviews = _newest(children)
    pages = [reverse("notes:not_kept"), reverse("notes:home")]
    for child in children:
        pages.append(f"{reverse('notes:home')}?swimmer={child.code}")
        pages.append(reverse("notes:week", args=[child.code]))
        pages.append(reverse("notes:over_time", args=[child.code]))
    pages += [reverse("notes:notes", args=[review.code]) for review in reviews]
    pictures = pictured(reviews, reader=actor)
    said = Reply.objects.filter(review_code__in=[review.code for review in reviews])
    said_last = said.values_list("code", "seen_at")
    state = [
        actor.code.hex,
        holder,
        *pages,
        *(f"{review.code}{review.publishings}" for review in reviews),
        *(str(picture.still) for picture in pictures),
        *sorted(f"{code}{seen}" for code, seen in said_last),
    ]
    return Shelf(
        pages=pages,
        stills=[small_still(picture.code) for picture in pictures],
        stamp=hashlib.sha256("\n".join(state).encode()).hexdigest()[:16],
    )


def _newest(children: Iterable[Swimmer]) -> list[Review]:
    rows = Review.objects.published().filter(swimmer__in=children)
    rows = rows.select_related("session__squad").order_by("-session__date", "-session_id")
    found: dict[int, list[Review]] = defaultdict(list)
    for review in rows:
        found[review.swimmer_id].append(review)
    return [review for each in found.values() for review in each[:SESSIONS]]
