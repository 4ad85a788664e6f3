"""What was tried for an item, and its oldest and newest picture."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import Verdict
from portal.progress.gathering import Item, Published
from portal.review.models import Comment
from portal.technique.models import Drill

LAST_TRIES = 3


@dataclass(frozen=True)
class Try:
    drill: Drill
    dose: str
    day: date
    since: str


@dataclass(frozen=True)
class Picture:
    comment: Comment
    day: date

    @property
    def words(self) -> str:
        return self.comment.words


@dataclass(frozen=True)
class Told:
    tries: list[Try]
    pictures: list[Picture]
    """The first and the last with a still; none unless there are two of different days."""


def told(item: Item, reviews: Collection[Published]) -> Told:
    """Of what these reviews say of the item. Two queries."""
    comments = _comments(item, reviews)
    stills = [Picture(c, c.session.date) for c in comments if c.still]
    ends = [stills[0], stills[-1]] if stills and stills[0].day != stills[-1].day else []
    tries = [
        Try(c.drill, c.dose or c.drill.dose, c.session.date, _since(item, c))
        for c in comments
        if c.drill
    ]
    return Told(tries[-LAST_TRIES:], ends)


def _comments(item: Item, reviews: Collection[Published]) -> Sequence[Comment]:
    point, fault = item.key.point.checkpoint, item.key.fault
    praised = Q(checkpoint=point) | Q(checkpoint__merged_into=point)
    about = Q(praised, verdict=Verdict.GOOD)
    if fault:
        about |= Q(fault=fault) | Q(fault__merged_into=fault)
    stroke = Q(clip__stroke=item.key.point.stroke) | Q(clip=None)
    found = Comment.objects.kept().filter(
        about, stroke, reviews__code__in=[review.code for review in reviews]
    )
    found = found.select_related("session", "drill").prefetch_related("drill__cautions")
    return list(found.order_by("session__date", "session_id", "id").distinct())


def _since(item: Item, comment: Comment) -> str:
    """How the looks after it went, counted."""
    place = (comment.session.date, comment.session_id)
    after = [look for look in item.looks if look.counts and (look.day, look.session) > place]
    if not after:
        return _("nobody has looked since")
    faulty = sum(look.is_faulty for look in after)
    if not faulty:
        text = ngettext("clean on the next look", "clean on the next %(count)s looks", len(after))
        return text % {"count": len(after)}
    text = ngettext(
        "still there on the next look",
        "there on %(faulty)s of the %(count)s looks since",
        len(after),
    )
    return text % {"faulty": faulty, "count": len(after)}
