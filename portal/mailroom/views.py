"""Where mail stops, and begins again."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from portal.kit.declaring import open_to_all, signed_in
from portal.mailroom import choosing, refusing, stopping
from portal.mailroom.composing import masked
from portal.people.http import Request, Visit, page
from portal.people.models import Swimmer, User

READ_OR_SEND = ["GET", "HEAD", "POST"]
GO_ON = "go on"


@open_to_all
@csrf_exempt
@require_http_methods(READ_OR_SEND)
def stop(request: Visit, letters: str) -> HttpResponse:
    """From a mail, signed in or not: its letters are the key. Looking changes nothing, since
    programs that guard a mailbox look at every address; what is sent stops the mail, the one
    click of a mail program too, which is answered without a detour (RFC 8058, 3.2)."""
    try:
        code, kind = stopping.read(letters)
    except stopping.Broken as broken:
        raise Http404 from broken
    reader = get_object_or_404(User, code=code)
    if request.method == "POST":
        change = stopping.go_on if request.POST.get("act") == GO_ON else stopping.stop
        change(reader, kind, at=request.now)
    context = {
        "kind": kind,
        "address": masked(reader.email),
        "is_wanted": stopping.wants(reader, kind, about=()),
        "was_sent": request.method == "POST",
    }
    return page(request, "mailroom/stop.html", context)


@require_http_methods(READ_OR_SEND)
@signed_in
def choices(request: Request) -> HttpResponse:
    """Each kind of mail, and each child."""
    children = list(Swimmer.objects.filter(pk__in=request.actor.family_ids).order_by("first_name"))
    asked = choosing.questions(request.user, children)
    if request.method == "POST":
        choosing.keep(asked, request.POST.getlist("mail"), by=request.user, at=request.now)
        messages.success(request, _("Kept. It holds from now on."))
        return redirect("mailroom:choices")
    context = {"questions": asked, "refusal": refusing.refusal_of(request.user.email)}
    return page(request, "mailroom/choices.html", context)


@require_POST
@signed_in
def works(request: Request) -> HttpResponse:
    """Whoever reads this page says that mail arrives again."""
    refusing.try_again(request.user.email)
    messages.success(request, _("Mail is sent to you again."))
    return redirect("mailroom:choices")
