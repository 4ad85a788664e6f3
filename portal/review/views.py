"""The desk and the review bench. Each view begins with who may see it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from http import HTTPStatus
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import (
    condition,
    require_http_methods,
    require_POST,
    require_safe,
)

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.clubhouse import missing
from portal.kit.declaring import asks, signed_in
from portal.kit.limiting import MINUTE, at_most
from portal.people.access import Actor, must
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.recordings import copying, playing, showing
from portal.recordings.models import Clip, Rendition
from portal.review import (
    access,
    benching,
    choosing,
    commenting,
    forewarning,
    publishing,
    slips,
    surveying,
)
from portal.review.forms import SlipForm, read_object
from portal.review.models import Comment, Review
from portal.technique.models import Stroke


@require_safe
@signed_in
def home(request: Request) -> HttpResponse:
    """The desk for staff, the notes for families, and for others what they may reach."""
    if request.actor.is_staff:
        return _desk(request)
    if request.actor.is_family:
        return redirect("notes:home")
    reviews = Review.objects.visible_to(request.actor).published().order_by("-published_at", "-pk")
    context = {
        "actor": request.actor,
        "reads_along": request.user.openness_squads.exists(),
        "reviews": reviews.select_related("swimmer", "session__squad"),
    }
    return page(request, "review/home.html", context)


def _desk(request: Request) -> HttpResponse:
    evening = surveying.latest_evening(request.actor)
    context = {
        "place": "desk",
        "missing": missing.count(request.actor),
        "evening": evening,
        "day": surveying.day_words(evening.session, request.now) if evening else "",
    }
    return page(request, "review/desk.html", context)


@require_safe
@asks(access.clip_for)
def bench(request: Request, code: UUID) -> HttpResponse:
    clip = access.clip_for(request.actor, code)
    session, copy = clip.recording.session, _copy_for(request, clip)
    laid = benching.Bench.of(clip, copy, actor=request.actor)
    note(Entry.Action.SAW, clip, at=request.now, by=request.user, club=session.squad.club)
    context = {
        "place": "sessions",
        "bench": laid,
        "clip": clip,
        "session": session,
        "copy": copy,
        "frame": _asked_frame(request, clip),
        "may_publish": request.actor.leads(session.squad),
        "remarks": [remark.slip for remark in laid.remarks],
    }
    return page(request, "review/bench.html", context)


def _copy_for(request: Request, clip: Clip) -> Rendition | None:
    """None while there is none, and when this person may not see the pictures now."""
    copy, squad = playing.copy_of(clip), clip.recording.session.squad
    if copy is None:
        return None
    if copy.clip_id is None:
        may_watch = showing.may_watch_whole(clip.recording, by=request.actor, squad=squad)
    else:
        may_watch = bool(showing.watchable([clip], by=request.actor, squad=squad))
    return copy if may_watch else None


def _asked_frame(request: Request, clip: Clip) -> int | None:
    """`?f=` of a link into the film; anything that is no frame of the clip means its first."""
    asked = request.GET.get("f", "")
    if not (asked.isascii() and asked.isdecimal() and len(asked) < 8):
        return None
    return int(asked) if clip.first_frame <= int(asked) <= clip.last_frame else None


@require_safe
@staff_only
def words(request: Request, stroke: str) -> HttpResponse:
    """For any bench of this stroke: browsers keep them and ask only whether they still hold."""
    if stroke not in Stroke.values:
        raise Http404
    response = _words(request, stroke)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _tag(_request: HttpRequest, stroke: str) -> str | None:
    return choosing.tag(stroke)


@condition(etag_func=_tag)
def _words(_request: HttpRequest, stroke: str) -> HttpResponse:
    return JsonResponse(choosing.as_json(stroke))


@require_POST
@at_most(120, within=MINUTE, of="comments")
@asks(access.clip_for, Actor.works_with)
def write(request: Request, code: UUID) -> HttpResponse:
    clip = access.clip_for(request.actor, code)
    must(request.actor.works_with(clip.recording.session.squad))
    form = _read(request, clip, needs=("code", "frame", "verdict"))
    if not form.is_valid():
        return _refuse(form.messages())
    chosen = form.cleaned_data["code"]
    if clip.comments.filter(code=chosen, author=request.user).exists():
        # The answer was lost on its way, and the page asked again.
        return _show(request, access.comment_for(request.actor, chosen))
    keep = partial(commenting.write, clip, code=chosen)
    return _keep(request, keep, form, status=201)


@require_POST
@at_most(120, within=MINUTE, of="comments")
@asks(access.comment_to_change)
def change(request: Request, code: UUID) -> HttpResponse:
    comment = access.comment_to_change(request.actor, code)
    form = _read(request, comment.clip, needs=("version",))
    if not form.is_valid():
        return _refuse(form.messages())
    keep = partial(commenting.change, comment, version=form.cleaned_data["version"])
    return _keep(request, keep, form)


@require_POST
@at_most(120, within=MINUTE, of="comments")
@asks(access.comment_to_change)
def drop(request: Request, code: UUID) -> HttpResponse:
    """The bench asks for JSON; the page before publishing sends a plain form."""
    comment = access.comment_to_change(request.actor, code)
    answer = _keep(request, partial(commenting.drop, comment))
    for review in comment.reviews.all() if answer.status_code == HTTPStatus.OK else []:
        if str(review.code) == request.POST.get("review"):
            return redirect("review:publish", review.code)
    return answer


@require_POST
@at_most(120, within=MINUTE, of="comments")
@asks(access.comment_to_change)
def restore(request: Request, code: UUID) -> HttpResponse:
    comment = access.comment_to_change(request.actor, code)
    is_focus = read_object(request.body).get("focus") is True
    return _keep(request, partial(commenting.restore, comment, focus=is_focus))


def _read(request: Request, clip: Clip | None, *, needs: tuple[str, ...]) -> SlipForm:
    return SlipForm(read_object(request.body), clip=clip, needs=needs)


def _keep(
    request: Request,
    verb: Callable[..., Comment],
    form: SlipForm | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    """The comment as it stands now; 422 with what is wrong where; 409 with both wordings."""
    said = form.said() if form else {}
    try:
        comment = verb(by=request.user, at=request.now, **said)
    except commenting.Refused as refused:
        return _refuse({refused.field: str(refused)})
    except commenting.Stale as stale:
        theirs = slips.as_json(stale.comment, actor=request.actor)
        return JsonResponse({"yours": form.sent if form else {}, "theirs": theirs}, status=409)
    return _show(request, comment, status=status)


def _refuse(errors: dict[str, str]) -> HttpResponse:
    return JsonResponse({"errors": errors}, status=422)


def _show(request: Request, comment: Comment, *, status: int = 200) -> HttpResponse:
    return JsonResponse(slips.as_json(comment, actor=request.actor), status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(access.review_for, Actor.leads)
def publish(request: Request, code: UUID) -> HttpResponse:
    review = access.review_for(request.actor, code)
    must(request.actor.leads(review.session.squad))
    if request.method != "POST":
        return _publish_page(request, review)
    try:
        mails = publishing.publish(review, by=request.user, at=request.now)
    except publishing.Hindered:
        return _publish_page(request, review, status=422)
    _prepare_clips(request, review)
    said = ngettext(
        "The notes for %(name)s are out. One mail is on its way.",
        "The notes for %(name)s are out. %(count)s mails are on their way.",
        len(mails),
    )
    values = {"name": review.swimmer.name, "count": len(mails)}
    messages.success(request, said % values)
    return redirect("recordings:session", review.session.code)


def _publish_page(request: Request, review: Review, *, status: int = 200) -> HttpResponse:
    comments = forewarning.comments_of(review)
    context: dict[str, Any] = {
        "place": "sessions",
        "review": review,
        "hindrances": publishing.hindrances(review, comments, by=request.user, at=request.now),
        "eve": forewarning.Eve.of(review, comments, on=review.session.squad.club.day(request.now)),
    }
    return page(request, "review/publish.html", context, status=status)


def _prepare_clips(request: Request, review: Review) -> None:
    """Families are shown a clip only from a copy of its own."""
    for clip in forewarning.clips_of(review):
        if playing.family_copy_of(clip) is None:
            copying.ask(clip, at=request.now)


@require_POST
@asks(access.review_for, Actor.leads)
def take_back(request: Request, code: UUID) -> HttpResponse:
    review = access.review_for(request.actor, code)
    must(request.actor.leads(review.session.squad))
    publishing.take_back(review, by=request.user, at=request.now)
    said = _("The notes for %(name)s are taken back: the family sees them no longer.")
    messages.success(request, said % {"name": review.swimmer.name})
    return redirect("review:publish", review.code)
