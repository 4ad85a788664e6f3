"""A session's page, and the form on it that brings one film in without scripts; with them films
come piece by piece (`resuming`). Each begins with who may see it."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST, require_safe

from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.recordings import listing, receiving, rooming, showing, uploading
from portal.recordings.access import session_for
from portal.recordings.models import Recording, Session

BLOCK = 256 * 1024
# What a form adds to the file it carries.
FORM_BYTES = 64 * 1024
# How long before an original goes its line on the page says so.
SOON = timedelta(days=14)


@require_safe
@asks(session_for)
def session(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    return _session_page(request, session)


def _session_page(
    request: Request,
    session: Session,
    *,
    problem: str = "",
    not_to_be_shown: bool = False,
    status: int = 200,
) -> HttpResponse:
    roster, filmed = listing.roster(session), listing.filmed(session)
    flags = listing.flags(roster, filmed)
    rows = list(session.recordings.kept().select_related("filmed_by"))
    shut = showing.shut(rows, on=session.squad.club.day(request.now))
    takes = listing.takes(rows, clips=filmed.counts, shut=shut, at=request.now)
    context = {
        "place": "sessions",
        "session": session,
        "takes": takes,
        "failed": sum(take.state == Recording.State.FAILED for take in takes),
        "flags": flags,
        "is_cut": bool(filmed.cuts),
        "roster": roster,
        "may_print": request.actor.leads(session.squad),
        "soon": session.squad.club.day(request.now + SOON),
        "problem": problem,
        "not_to_be_shown": not_to_be_shown,
        **({} if request.htmx else rooming.limits(session.squad.club)),
    }
    return page(request, "recordings/session.html", context, part="takes", status=status)


@require_POST
@csrf_exempt
@at_most(120, within=HOUR, of="uploads")
@asks(session_for, Actor.works_with)
def upload(request: Request, code: UUID) -> HttpResponseBase:
    """Who may, before a byte is read; `_receive` then asks for the token.

    The check against forgery reads the whole of a form first. Done in its usual place it would
    store anybody's file of any size before we had looked at who sends it.
    """
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    try:
        uploading.must_fit(max(0, _length(request) - FORM_BYTES), club=session.squad.club)
    except uploading.Refused as refused:
        return _session_page(request, session, problem=str(refused), status=422)
    request.upload_handlers = [TemporaryFileUploadHandler(request)]
    return _receive(request, session)


def _length(request: Request) -> int:
    """Bytes of the body; 0 when none were announced, and then none can be read."""
    said = request.META.get("CONTENT_LENGTH") or ""
    return int(said) if said.isdecimal() else 0


@csrf_protect
def _receive(request: Request, session: Session) -> HttpResponseBase:
    try:
        recording = _from_form(request, session)
    except uploading.Refused as refused:
        ticked = "not_to_be_shown" in request.POST
        return _session_page(
            request, session, problem=str(refused), not_to_be_shown=ticked, status=422
        )
    receiving.ask_to_prepare(recording, at=request.now)
    messages.success(request, _("“%(name)s” is in, and whole.") % {"name": recording.name})
    return redirect("recordings:session", session.code)


def _from_form(request: Request, session: Session) -> Recording:
    film = request.FILES.get("film")
    if film is None:
        raise uploading.Refused(_("No file was chosen. Choose a film first."))
    return uploading.receive(
        session,
        name=film.name or "",
        blocks=film.chunks(BLOCK),
        length=film.size,
        by=request.user,
        at=request.now,
        not_to_be_shown="not_to_be_shown" in request.POST,
    )
