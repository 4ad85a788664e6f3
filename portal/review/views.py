"""The desk and the review bench. Each view begins with who may see it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from http import HTTPStatus
from uuid import UUID

from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.views.decorators.http import (
    condition,
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
from portal.recordings.models import Clip
from portal.review import (
    access,
    benching,
    beside,
    choosing,
    commenting,
    lapsing,
    marking,
    repeating,
    slips,
    surveying,
    waiting,
)
from portal.review.forms import RepeatForm, SlipForm, read_object
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
    actor, paces = request.actor, waiting.paces(request.actor)
    evening = surveying.latest_evening(actor, waiting.newest_film(paces))
    context = {"place": "desk", "missing": missing.count(actor), "evening": evening}
    if evening:
        drafts = waiting.drafts(actor, paces)
        squad, filmed = evening.session.squad, {row.swimmer.pk for row in evening.to_review}
        context |= {
            "day": surveying.day_words(evening.session, request.now),
            "drafts": drafts,
            "next": waiting.next_thing(evening, drafts, actor=actor),
            "paces": paces,
            "lapses": lapsing.of_squad(squad, on=squad.club.day(request.now), filmed=filmed),
        }
    return page(request, "review/desk.html", context)


@require_safe
@asks(access.clip_for)
def bench(request: Request, code: UUID) -> HttpResponse:
    clip = access.clip_for(request.actor, code)
    session, copy = clip.recording.session, access.copy_to_watch(request.actor, clip)
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
        # Asked only where there is no film: beside a film they come in their own time.
        "beside": partial(beside.open_items, clip, laid.swimmers, on=session.date),
        "kinds": marking.kinds_for(clip),
    }
    return page(request, "review/bench.html", context)


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


def _tag(request: Request, stroke: str) -> str | None:
    squad = choosing.squad_at_hand(request.actor, request.GET.get("squad", ""))
    return choosing.tag(stroke, squad, on=request.actor.today)


@condition(etag_func=_tag)
def _words(request: Request, stroke: str) -> HttpResponse:
    squad = choosing.squad_at_hand(request.actor, request.GET.get("squad", ""))
    return JsonResponse(choosing.as_json(stroke, squad, on=request.actor.today))


@require_safe
@asks(access.clip_for)
def said(request: Request, code: UUID) -> HttpResponse:
    """All comments of a clip, for a bench that asks every two seconds whether something is new."""
    clip = access.clip_for(request.actor, code)
    response = _said(request, clip)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _state(request: Request, clip: Clip) -> str | None:
    return slips.state(clip, actor=request.actor)


@condition(etag_func=_state)
def _said(request: Request, clip: Clip) -> HttpResponse:
    squad = clip.recording.session.squad
    comments = slips.read(clip.comments.kept(), squad=squad, actor=request.actor)
    return JsonResponse({"comments": comments})


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


@require_POST
@at_most(120, within=MINUTE, of="comments")
@asks(access.comment_to_change)
def repeat(request: Request, code: UUID) -> HttpResponse:
    """The same remark for other swimmers; `taken_back` names notes that shall go again."""
    comment = access.comment_to_change(request.actor, code)
    sent = read_object(request.body)
    form = RepeatForm(sent, among=repeating.others(comment))
    try:
        if "taken_back" in sent:
            return _unsay(request, sent["taken_back"])
        if not form.is_valid():
            return _refuse(form.messages())
        chosen = form.cleaned_data["swimmers"]
        notes = repeating.repeat(comment, chosen, by=request.user, at=request.now)
    except commenting.Refused as refused:
        return _refuse({refused.field: str(refused)})
    names = [swimmer.first_name for swimmer in chosen]
    return JsonResponse({"names": names, "notes": [str(note.code) for note in notes]}, status=201)


def _unsay(request: Request, codes: object) -> HttpResponse:
    for code in codes if isinstance(codes, list) else []:
        try:
            said = access.deck_note_for(request.actor, UUID(str(code)))
        except ValueError:
            raise Http404 from None
        commenting.drop(said, by=request.user, at=request.now)
    return JsonResponse({"names": [], "notes": []})


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
