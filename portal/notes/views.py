"""The families' pages. They need no script; one adds the moving picture."""

from __future__ import annotations

from pathlib import Path
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note, note_look
from portal.kit.declaring import asks, signed_in
from portal.notes import handing, hanging, reading, shrinking, talking
from portal.notes.access import notes_for, own_clip_for, still_for, taken_back_for
from portal.people import family
from portal.people.http import Request, page
from portal.people.models import Swimmer
from portal.recordings import hiding, serving
from portal.review.models import Review


@require_safe
@signed_in
def home(request: Request) -> HttpResponse:
    """A child's notes, newest first; for a second adult, those of the squads in their care."""
    actor = request.actor
    own = Swimmer.objects.filter(id__in=actor.family_ids)
    children = list(own.select_related("club"))
    if holder := handing.holder(request):
        children = [child for child in children if str(child.code) == holder]
    asked = request.GET.get("swimmer", "")
    child = next((c for c in children if str(c.code) == asked), next(iter(children), None))
    is_watching = Review.objects.published().filter(session__squad__in=actor.seconds)
    reviews = Review.objects.published().visible_to(actor)
    if child and asked != "squads":
        reviews = reviews.filter(swimmer=child)
    else:
        child, reviews = None, is_watching
    headings = reading.headings(reviews)
    context = {
        "children": children,
        "child": child,
        "is_own": child is not None and handing.is_theirs(request, child),
        "may_hand_over": child is not None and handing.may_hand_over(actor, child),
        "headings": headings,
        "film": _film_word(request, child) if child and not headings else "",
        "watches": not holder and is_watching.exists(),
    }
    return page(request, "notes/home.html", context)


def _film_word(request: Request, child: Swimmer) -> str:
    return family.film_word(child, by=request.user, on=child.club.day(request.now))


@require_safe
@asks(notes_for)
def notes(request: Request, code: UUID) -> HttpResponse:
    """One swimmer's notes of one session"""
    try:
        review = notes_for(request.actor, code)
    except Http404:
        if taken_back := taken_back_for(request.actor, code):
            is_family = taken_back.swimmer_id in request.actor.family_ids
            return page(request, "notes/taken_back.html", {"is_family": is_family})
        raise
    return notes_page(request, review)


def notes_page(request: Request, review: Review, *, problem: str = "") -> HttpResponse:
    """With a problem, what was said below it did not get through."""
    squad = review.session.squad
    if not request.actor.works_with(squad):
        note(
            Entry.Action.SAW,
            review,
            at=request.now,
            by=request.user,
            club=squad.club,
            swimmer=str(review.swimmer.code),
            # Fetched by the phone alone, to be read without a signal.
            **({"what": "kept on a phone"} if "Flagline-Keeps" in request.headers else {}),
        )
    is_family = review.swimmer_id in request.actor.family_ids
    context = {
        "is_family": is_family,
        "may_hide": is_family and review.state == Review.State.PUBLISHED,
        "offers_film": is_family or request.actor.works_with(squad),
        "review": review,
        "is_own": handing.is_theirs(request, review.swimmer),
        "notes": reading.notes(review, reader=request.actor),
        "string": hanging.string(),
        "readers": reading.readers(review, is_family=is_family),
        "talk": talking.talk(review, request),
        "problem": problem,
        "typed": request.POST.get("words", ""),
    }
    return page(request, "notes/notes.html", context, status=422 if problem else 200)


@require_POST
@asks(own_clip_for)
def hide(request: Request, code: UUID) -> HttpResponse:
    """From that moment nobody sees it but the welfare officer; no reason is asked."""
    hiding.hide(own_clip_for(request.actor, code), by=request.user, at=request.now)
    messages.success(
        request,
        _("The clip is hidden. Only the welfare officer can still see it; the words stay."),
    )
    return redirect(_back(request))


@require_POST
@asks(own_clip_for)
def show_again(request: Request, code: UUID) -> HttpResponse:
    """For whoever asked for the hiding. Others are not told whether somebody else did."""
    clip = own_clip_for(request.actor, code)
    if hiding.show_again(clip, by=request.user, at=request.now):
        said = _("The clip is no longer hidden at your wish. Whoever may see it sees it again.")
        messages.success(request, said)
    return redirect(_back(request))


def _back(request: Request) -> str:
    """To the notes from which the button was pressed."""
    code = request.POST.get("notes", "")
    try:
        return reverse("notes:notes", args=[UUID(code)])
    except ValueError:
        return reverse("notes:home")


@require_safe
@asks(still_for)
def still(request: Request, code: UUID) -> HttpResponseBase:
    """The picture of a moment"""
    comment = still_for(request.actor, code)
    if request.method == "GET":
        club = comment.session.squad.club
        note_look(comment, at=request.now, by=request.user, club=club)
    if "small" in request.GET:
        return shrinking.send(request, str(comment.still))
    return serving.send(
        request, comment.still, content_type="image/jpeg", etag=Path(str(comment.still)).stem
    )
