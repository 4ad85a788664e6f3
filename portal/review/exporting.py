"""What somebody may carry away of a clip's comments, and what of it is said."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from uuid import UUID

from django.http import Http404
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.people.accounts import short_name
from portal.recordings import playing
from portal.recordings.models import Clip
from portal.review import drawing
from portal.review.captioning import Caption
from portal.review.models import Comment, CommentQuerySet, Review


@dataclass(frozen=True)
class Export:
    clip: Clip
    title: str
    seconds: float
    captions: list[Caption]


def export_for(actor: Actor, code: UUID) -> Export:
    """Staff get all that stands on the clip, and everybody else what is out to them. 404 if that is
    nothing, and while no copy tells when a frame is. What is for staff alone is in neither."""
    clips = Clip.objects.kept().filter(recording__thrown_away_at=None)
    clip = clips.select_related("recording__session__squad__club").filter(code=code).first()
    copy = playing.copy_of(clip) if clip else None
    if clip is None or copy is None:
        raise Http404
    is_staff = actor.works_with(clip.recording.session.squad)
    comments = list(_readable(clip, actor, is_staff=is_staff))
    if not comments and not is_staff:
        raise Http404
    times = playing.moments(clip, copy)
    edges = [*times, _end(times)]
    captions = [_caption(each, clip, edges, names_author=is_staff) for each in comments]
    return Export(clip, _title(clip), edges[-1], captions)


def _readable(clip: Clip, actor: Actor, *, is_staff: bool) -> CommentQuerySet:
    comments = clip.comments.kept()
    if not is_staff:
        out = Review.objects.published().visible_to(actor)
        comments = comments.filter(reviews__in=out).distinct()
    return comments.select_related("checkpoint", "fault__checkpoint", "drill", "author").order_by(
        "frame", "pk"
    )


def _end(times: list[float]) -> float:
    """The last frame stays as long as the shortest."""
    return times[-1] + min((after - before for before, after in pairwise(times)), default=0.04)


def _caption(comment: Comment, clip: Clip, edges: list[float], *, names_author: bool) -> Caption:
    first = (comment.frame or clip.first_frame) - clip.first_frame
    last = first if comment.last_frame is None else comment.last_frame - clip.first_frame
    drawn = drawing.kept(comment.drawing)
    return Caption(
        code=comment.code,
        begins=edges[first],
        ends=edges[last + 1],
        is_stretch=comment.last_frame is not None,
        verdict=_verdict(comment),
        tag=comment.title if comment.tag else "",
        words=comment.words.strip(),
        cue=_("Think: %(cue)s") % {"cue": comment.cue} if comment.cue else "",
        drill=", ".join(filter(None, [comment.drill.name, comment.dose])) if comment.drill else "",
        drawing=drawing.said(drawn) if drawn else "",
        author=short_name(comment.author.name) if names_author else "",
        created=comment.created_at,
        changed=comment.changed_at,
    )


def _verdict(comment: Comment) -> str:
    """One camera is no official."""
    if comment.verdict == Verdict.NOT_LEGAL:
        return _("looks not legal on this view, a warning and no decision")
    return comment.verdict_word


def _title(clip: Clip) -> str:
    """Without names: a file goes from hand to hand."""
    day = date_format(clip.recording.session.date, "j F Y")
    return f"{day}, {clip.get_stroke_display()}, {clip.get_view_display()}"
