"""One person's weekly mail: into the outbox, with what it tells, and into the queue."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from itertools import accumulate
from typing import Any

from django.db import transaction
from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.digests import withholding
from portal.digests.compiling import Child, compiled
from portal.digests.gathering import Edition, News
from portal.digests.models import Delivered, Mention
from portal.jobs.models import Job
from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import SUBJECT_LENGTH, draft, post
from portal.review.telling import page_address

# Of each child in the HTML part; the text part has all.
MOST_POINTS = 40
# Bytes that the HTML part has for points, and what a child comes to without any.
HTML_ROOM = 76_000
CHILD_TAGS = 1_200


def write(edition: Edition, news: News, *, at: datetime) -> OutgoingMail | None:
    """None: somebody else has written it since the news was gathered."""
    words = _words(edition, news)
    with transaction.atomic():
        mail = post(news.recipient, **words, at=at)
        if mail is None:
            return None
        withholding.overtake(mail)
        Mention.objects.bulk_create(
            Mention(mail=mail, swimmer=swimmer) for swimmer in news.children
        )
        Delivered.objects.bulk_create(
            Delivered(
                mail=mail,
                recipient=news.recipient,
                review=review,
                publishing=review.publishings,
            )
            for review in news.reviews
        )
        enqueue(mail, at=at)
    return mail


def rehearse(edition: Edition, news: News, *, at: datetime) -> OutgoingMail | None:
    """The mail that `write` would write. Nothing of it is kept."""
    with transaction.atomic():
        mail = write(edition, news, at=at)
        transaction.set_rollback(True)
    return mail


def preview(edition: Edition, news: News, *, at: datetime) -> OutgoingMail:
    """The same, for a page: not even for a moment does it stand in the outbox."""
    return draft(news.recipient, **_words(edition, news), at=at)


def enqueue(mail: OutgoingMail, *, at: datetime) -> Job:
    """The job that sends it, always the same one."""
    return dispatch(mail, at=at, kind="digests.send")


def _words(edition: Edition, news: News) -> dict[str, Any]:
    """What a weekly mail is made of, as `post` and `draft` take it."""
    club, due = edition.club, edition.due_at
    return {
        "club": club,
        "kind": OutgoingMail.Kind.WEEKLY,
        "key": edition.key(news.recipient),
        "template": "weekly",
        "context": _context(edition, compiled(news, club=club, until=due, on=club.day(due))),
    }


def _context(edition: Edition, children: list[Child]) -> dict[str, object]:
    days = days_in_words(*edition.days)
    with_news = [child.name for child in children if child.has_news]
    return {
        "subject": _subject(with_news, days),
        "days": days,
        "opening": edition.opening,
        "with_news": _listed(with_news),
        "without_news": _listed([child.name for child in children if not child.has_news]),
        "children": children,
        "fitting": fitting(children),
        "notes_address": page_address("notes:home"),
        "concern_address": page_address("concern"),
    }


def days_in_words(first: date, last: date) -> str:
    is_one_month = first.month == last.month
    begins = str(first.day) if is_one_month else date_format(first, "MONTH_DAY_FORMAT")
    ends = date_format(last, "MONTH_DAY_FORMAT")
    return _("%(first)s to %(last)s") % {"first": begins, "last": ends}


def _listed(names: Sequence[str]) -> str:
    return get_text_list(list(names), _("and"))


def _subject(names: Sequence[str], days: str) -> str:
    """First names only; none where they would not fit."""
    subject = _("%(names)s at the pool, %(days)s") % {"names": _listed(names), "days": days}
    if len(subject) <= SUBJECT_LENGTH:
        return subject
    whole = ngettext(
        "Your swimmer at the pool, %(days)s", "Your swimmers at the pool, %(days)s", len(names)
    )
    return whole % {"days": days}


def fitting(children: Sequence[Child]) -> list[Child]:
    """The same children with as many points as the HTML part holds before a mail program
    would cut it off; each has an equal part of the room."""
    room = HTML_ROOM // max(1, sum(child.has_news for child in children)) - CHILD_TAGS
    return [_fitted(child, room=room) for child in children]


def _fitted(child: Child, *, room: int) -> Child:
    """What matters most stays: the focus, then what looks not legal, then what to work on."""
    aims = [child.focus] if child.focus else []
    ranked = [*aims, *child.not_legal, *child.working_on, *child.going_well]
    sizes = accumulate(point.size for point in ranked[:MOST_POINTS])
    left = fits = sum(size <= room for size in sizes)
    focus = child.focus if left else None
    left -= focus is not None
    not_legal = child.not_legal[:left]
    left -= len(not_legal)
    working_on = child.working_on[:left]
    left -= len(working_on)
    return replace(
        child,
        focus=focus,
        not_legal=not_legal,
        working_on=working_on,
        going_well=child.going_well[:left],
        more=len(ranked) - fits,
    )
