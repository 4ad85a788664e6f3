"""The page before publishing, and what is pressed on it. Each view begins with who may see it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from portal.items import checking
from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.recordings import copying, playing
from portal.review import asking, benching, commenting, forewarning, handing, publishing
from portal.review.access import review_for
from portal.review.asking import Check
from portal.review.forms import EveForm
from portal.review.models import Review


@require_http_methods(["GET", "HEAD", "POST"])
@asks(review_for, Actor.leads)
def publish(request: Request, code: UUID) -> HttpResponse:
    review = review_for(request.actor, code)
    must(request.actor.leads(review.session.squad))
    if request.method != "POST":
        return _page(request, review)
    if review.state == Review.State.PUBLISHED:
        # Pressed twice, or by two: it is out.
        return redirect("review:publish", review.code)
    form = EveForm(request.POST, check=Check.of(review, forewarning.comments_of(review)))
    if not form.is_valid():
        return _page(request, review, problem=_("Something has changed here. Answer again."))
    try:
        _settle(request, review, form)
        return _done(request, review, form.act_asked)
    except (commenting.AlreadyOut, checking.NotAsked) as refused:
        return _page(request, review, problem=str(refused))
    except publishing.Hindered:
        return _page(request, review, status=422)


def _settle(request: Request, review: Review, form: EveForm) -> None:
    focus, answers = form.focus_chosen(), form.answers()
    asking.settle(review, focus=focus, answers=answers, by=request.user, at=request.now)


def _done(request: Request, review: Review, act: EveForm.Act) -> HttpResponse:
    if act == EveForm.Act.PUBLISH:
        return _publish(request, review)
    if act == EveForm.Act.CHECK:
        handing.check(review, by=request.user, at=request.now)
        said = _("The notes for %(name)s are checked. They go out when you publish them.")
        messages.success(request, said % {"name": review.swimmer.name})
    return redirect("review:publish", review.code)


def _publish(request: Request, review: Review) -> HttpResponse:
    mails = publishing.publish(review, by=request.user, at=request.now)
    _prepare_clips(request, review)
    said = ngettext(
        "Published. One mail is on its way.",
        "Published. %(count)s mails are on their way.",
        len(mails),
    )
    messages.success(request, said % {"count": len(mails)})
    return redirect("review:publish", review.code)


def _prepare_clips(request: Request, review: Review) -> None:
    """Families are shown a clip only from a copy of its own."""
    for clip in forewarning.clips_of(review):
        if playing.family_copy_of(clip) is None:
            copying.ask(clip, at=request.now)


def _page(
    request: Request, review: Review, *, problem: str = "", status: int = 200
) -> HttpResponse:
    comments = forewarning.comments_of(review)
    context: dict[str, Any] = {
        "place": "sessions",
        "review": review,
        "problem": problem,
        "focus": review.focus_id,
        "is_out": review.state == Review.State.PUBLISHED,
        "eve": forewarning.Eve.of(review, comments, on=review.session.squad.club.day(request.now)),
    }
    if review.state == Review.State.PUBLISHED:
        cast = benching.cast_of(review.session, here=review.swimmer)
        context["following"] = benching.following(cast, checks=True)
    else:
        by, at = request.user, request.now
        context["hindrances"] = publishing.hindrances(review, comments, by=by, at=at)
        context["check"] = Check.of(review, comments)
    return page(request, "review/publish.html", context, status=422 if problem else status)


@require_POST
@asks(review_for, Actor.leads)
def take_back(request: Request, code: UUID) -> HttpResponse:
    review = review_for(request.actor, code)
    must(request.actor.leads(review.session.squad))
    publishing.take_back(review, by=request.user, at=request.now)
    said = _("The notes for %(name)s are taken back: the family sees them no longer.")
    messages.success(request, said % {"name": review.swimmer.name})
    return redirect("review:publish", review.code)


@require_POST
@asks(review_for, Actor.works_with)
def hand_over(request: Request, code: UUID) -> HttpResponse:
    """Drafted, please check; or not finished after all."""
    review = review_for(request.actor, code)
    must(request.actor.works_with(review.session.squad))
    takes_up = request.POST.get("act") == "take up"
    do = handing.take_up if takes_up else handing.hand_over
    said = _("Taken up again.") if takes_up else _("Handed over: a coach checks and publishes it.")
    try:
        do(review, by=request.user, at=request.now)
    except commenting.AlreadyOut as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, said)
    cast = benching.cast_of(review.session, here=review.swimmer)
    mate = None if takes_up else benching.following(cast, checks=False)
    return redirect(mate.address if mate else "home")
