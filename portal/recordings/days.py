"""The sessions as a list of days: opening one, saying better what it is, calling it off."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.recordings import amending, listing, opening
from portal.recordings.access import session_for
from portal.recordings.forms import AmendForm, SessionForm

READ_OR_SEND = ["GET", "HEAD", "POST"]
A_PAGE = 30


@require_safe
@staff_only
def sessions(request: Request) -> HttpResponse:
    shown = Paginator(listing.sessions(request.actor), A_PAGE).get_page(request.GET.get("page"))
    context = {"place": "sessions", "sessions": shown, "today": request.actor.today}
    return page(request, "recordings/sessions.html", context)


@require_http_methods(READ_OR_SEND)
@staff_only
def new_session(request: Request) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    form = SessionForm(typed, actor=request.actor, now=request.now)
    if form.is_valid():
        with transaction.atomic():
            session = opening.open_session(form.plan(), by=request.user, at=request.now)
        return redirect("recordings:session", session.code)
    context = {"place": "sessions", "form": form}
    return page(request, "recordings/new_session.html", context, status=422 if typed else 200)


@require_http_methods(READ_OR_SEND)
@asks(session_for, Actor.works_with)
def change_session(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    typed = request.POST if request.method == "POST" else None
    form = AmendForm(typed, session=session, actor=request.actor, now=request.now)
    if form.is_valid():
        try:
            with transaction.atomic():
                amending.amend(session, form.plan(), by=request.user, at=request.now)
        except amending.Refused as refused:
            form.add_error("date", str(refused))
        else:
            messages.success(request, _("Kept."))
            return redirect("recordings:session", session.code)
    context = {
        "place": "sessions",
        "form": form,
        "session": session,
        "may_call_off": amending.is_bare(session),
    }
    return page(request, "recordings/change_session.html", context, status=422 if typed else 200)


@require_POST
@asks(session_for, Actor.works_with)
def call_off(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    try:
        amending.call_off(session, by=request.user, at=request.now)
    except amending.Refused as refused:
        messages.error(request, str(refused))
        return redirect("recordings:session", code)
    messages.success(request, _("The session is called off."))
    return redirect("recordings:sessions")
