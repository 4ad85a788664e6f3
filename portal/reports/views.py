"""The page of a session's sheet, and the sheet itself. Printing is a coach's."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.jobs import queueing
from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.recordings import serving
from portal.recordings.access import session_for
from portal.recordings.models import Session
from portal.reports import access, asking, gathering


@require_http_methods(["GET", "HEAD", "POST"])
@at_most(20, within=HOUR, of="sheets")
@asks(session_for, Actor.leads)
def sheet(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    must(request.actor.leads(session.squad))
    content = gathering.content(session, at=request.now)
    asked = asking.newest(content)
    if request.method == "POST":
        is_waiting = asked is not None and asked.state == asking.State.WAITING
        if content.blocks and not is_waiting:
            _ask(request, session)
        return redirect("reports:sheet", session.code)
    context = {
        "place": "sessions",
        "session": session,
        "asked": asked,
        "published": len(content.blocks),
    }
    return page(request, "reports/sheet.html", context, part="state")


def _ask(request: Request, session: Session) -> None:
    with transaction.atomic():
        sheet = asking.ask(session, by=request.user, at=request.now)
        payload = {"sheet": str(sheet.code)}
        queueing.enqueue("reports.make_sheet", key=sheet.job_key, payload=payload, at=request.now)


@require_safe
@asks(access.sheet_for, Actor.leads)
def pdf(request: Request, code: UUID) -> HttpResponseBase:
    sheet = access.sheet_for(request.actor, code)
    must(request.actor.leads(sheet.session.squad))
    if not asking.stands(sheet, at=request.now):
        return redirect("reports:sheet", sheet.session.code)
    note(Entry.Action.SAW, sheet, at=request.now, by=request.user, club=sheet.session.squad.club)
    return serving.send(request, sheet.file, content_type="application/pdf", etag=sheet.code.hex)
