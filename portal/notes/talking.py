"""What is said below the notes, as its reader meets it.

What a family says is said in the swimmer's name, on whichever phone: a guardian's name would
tell one household of another. The coaches are told whether it was the swimmer's own sign-in.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from portal.notes.handing import is_theirs
from portal.people.http import Request
from portal.replies import replying
from portal.replies.minding import mentions_pain
from portal.replies.models import Reply
from portal.replies.replying import Thread
from portal.review.models import Review


@dataclass(frozen=True)
class Line:
    """One thing said."""

    reply: Reply
    who: str
    aside: str
    """From whose phone, for the coaches."""
    says: str
    """The button that was pressed, in words."""
    seen: str
    mentions_pain: bool


@dataclass(frozen=True)
class Talk:
    lines: list[Line]
    may_say: bool
    """For the family of today."""
    may_answer: bool
    """For the coaches of the squad."""
    is_waiting: bool
    """Something of the family's that no coach has seen."""
    readers: str
    """Who can read what is said; stands beside the button."""
    told: str
    """What happens with the last thing the family said, for them."""
    mentions_pain: bool
    """The family wrote of pain and no coach has seen it yet."""


def thread_of(review: Review) -> Thread:
    return Thread(review.code, review.session, review.swimmer)


def talk(review: Review, request: Request) -> Talk | None:
    """None while the notes are no more than a draft. One query."""
    if review.state != Review.State.PUBLISHED:
        return None
    thread, actor = thread_of(review), request.actor
    said = replying.said(thread)
    is_family = review.swimmer_id in actor.family_ids
    leads = actor.leads(review.session.squad)
    squad = review.session.squad
    # Whether somebody at home reads along is asked once more when something is said.
    is_open = replying.has_second_adult(squad)
    lines = [_line(reply, request, review) for reply in said]
    unseen = [line for line in lines if not (line.reply.is_from_coach or line.reply.seen_at)]
    return Talk(
        lines=lines,
        may_say=is_family and is_open,
        may_answer=leads and is_open,
        is_waiting=bool(unseen),
        readers=readers(review, is_family=is_family),
        told=_told(said[-1]) if said and is_family else "",
        mentions_pain=any(line.mentions_pain for line in unseen),
    )


def readers(review: Review, *, is_family: bool) -> str:
    """A family is never named, nor counted."""
    squad = review.session.squad
    if is_family:
        text = _(
            "The coaches of %(squad)s and %(second)s can read what you say. So can the welfare"
            " officer and your family."
        )
    else:
        text = _(
            "%(swimmer)s’s family and the coaches of %(squad)s can read what you say. So can"
            " %(second)s and the welfare officer."
        )
    second, swimmer = squad.second_adult, review.swimmer.first_name
    return text % {"squad": squad, "second": second, "swimmer": swimmer}


def _told(last: Reply) -> str:
    if last.kind == Reply.Kind.GOT_IT:
        return _("Your coaches see it.")
    if last.kind == Reply.Kind.SHOW_ME:
        return _("A coach shows you at the pool, with the squad there, or answers here.")
    return ""


def _line(reply: Reply, request: Request, review: Review) -> Line:
    is_family = review.swimmer_id in request.actor.family_ids
    return Line(
        reply=reply,
        who=reply.by.name if reply.is_from_coach else _swimmer(request, review),
        aside="" if is_family or reply.is_from_coach else _aside(reply, review),
        says=_says(reply),
        seen=_seen(reply, review, is_family=is_family),
        mentions_pain=not reply.is_from_coach and mentions_pain(reply.words),
    )


def _swimmer(request: Request, review: Review) -> str:
    return _("You") if is_theirs(request, review.swimmer) else review.swimmer.first_name


def _aside(reply: Reply, review: Review) -> str:
    is_own = reply.by_id == review.swimmer.user_id
    return _("own sign-in") if is_own else _("from a guardian’s sign-in")


def _says(reply: Reply) -> str:
    words = {Reply.Kind.GOT_IT: _("Got it."), Reply.Kind.SHOW_ME: _("Show me.")}
    return words.get(Reply.Kind(reply.kind), "")


def _seen(reply: Reply, review: Review, *, is_family: bool) -> str:
    """A coach is named; of a family only that somebody of it has seen it."""
    if reply.seen_by is None:
        return ""
    if not reply.is_from_coach:
        return _("%(coach)s has seen this.") % {"coach": reply.seen_by.name}
    if is_family:
        return ""
    return _("%(swimmer)s’s family has seen this.") % {"swimmer": review.swimmer.first_name}
