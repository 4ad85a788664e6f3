"""The conversation below notes: families and coaches say something on the same page, and a
coach's desk shows what waits. No page here is anybody's own: all who read the notes read it."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.notes import telling
from portal.notes import waiting as gathering
from portal.notes.access import notes_for
from portal.notes.forms import AnswerForm, SayForm
from portal.notes.talking import thread_of
from portal.notes.views import notes_page
from portal.people.access import Actor, must
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.replies import replying
from portal.replies.models import Reply
from portal.review.models import Review

OFTEN = 20
"""In an hour: much for a conversation about one practice, little for a pest."""


@require_POST
@at_most(OFTEN, within=HOUR, of="replies")
@asks(notes_for)
def say(request: Request, code: UUID) -> HttpResponse:
    """Got it, or show me: pressed by the swimmer or at home"""
    review = notes_for(request.actor, code)
    must(review.swimmer_id in request.actor.family_ids)
    form = SayForm(request.POST)
    if not form.is_valid():
        return _again(request, review, form)
    kind, words = Reply.Kind(form.cleaned_data["kind"]), form.cleaned_data["words"]
    try:
        replying.say(thread_of(review), kind=kind, words=words, by=request.user, at=request.now)
    except replying.Alone:
        return _alone(request, review)
    return _back(review)


@require_POST
@at_most(OFTEN * 5, within=HOUR, of="answers")
@asks(notes_for, Actor.leads)
def answer(request: Request, code: UUID) -> HttpResponse:
    """By a coach of the squad, for all who read the notes"""
    review = notes_for(request.actor, code)
    must(request.actor.leads(review.session.squad) and review.state == Review.State.PUBLISHED)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        return _again(request, review, form)
    given = form.cleaned_data
    try:
        if given["act"] == "seen":
            replying.take_up(thread_of(review), by=request.user, at=request.now)
        else:
            _answer(request, review, given["words"])
    except replying.Alone:
        return _alone(request, review)
    return _back(review)


def _answer(request: Request, review: Review, words: str) -> None:
    """What is said, and the mails that say so, stand or fall together."""
    with transaction.atomic():
        said = replying.answer(thread_of(review), words=words, by=request.user, at=request.now)
        telling.answered(review, said, at=request.now)


@require_safe
@staff_only
def waiting(request: Request) -> HttpResponse:
    """A part of the coach's desk: what families asked and nobody has taken up."""
    if not request.htmx:
        return redirect("home")
    return page(request, "notes/_waiting.html", {"waiting": gathering.waiting(request.actor)})


def _again(request: Request, review: Review, form: forms.Form) -> HttpResponse:
    said = [str(each) for found in form.errors.values() for each in found]
    return notes_page(request, review, problem=" ".join(said))


def _alone(request: Request, review: Review) -> HttpResponse:
    return notes_page(
        request,
        review,
        problem=_("Nobody reads along here just now, so nothing was sent. Ask your club."),
    )


def _back(review: Review) -> HttpResponse:
    return redirect(f"{reverse('notes:notes', args=[review.code])}#talk")
