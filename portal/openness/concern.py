"""Reporting a concern: open to everybody, and free of what the pages of those who hear it ask."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_safe

from portal.kit.declaring import open_to_all, signed_in
from portal.kit.limiting import HOUR, MINUTE, seconds_to_wait
from portal.openness import reporting
from portal.openness.forms import ConcernForm
from portal.people import confiding
from portal.people.http import Request, Visit, page
from portal.people.models import Club

AT_MOST = 6
SENT = "concern sent"


@open_to_all
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def concern(request: Visit) -> HttpResponse:
    """Whom to turn to; never the coaches. Names are for people whom the club knows.

    What was typed is never lost: whatever stands in the way of sending, a sign-in that ran out
    and a page that was open too long among it, the same page comes back with the words in it.
    """
    is_known = request.user.is_authenticated
    found = _whom(request) if is_known else {}
    if request.method != "POST":
        form = _form(found, None) if found.get("clubs") else None
        return page(request, "openness/concern.html", {**found, "form": form})
    form = _form(found, request.POST)
    problem = _hindrance(request, form, is_known=is_known)
    if problem is None:
        return redirect("openness:sent")
    status, said = problem
    return page(
        request, "openness/concern.html", {**found, "form": form, "problem": said}, status=status
    )


@require_safe
@signed_in
def sent(request: Request) -> HttpResponse:
    """The number, and what happens now; it is all that the portal says of it from here on."""
    if SENT not in request.session:
        return redirect("concern")
    return page(request, "openness/sent.html", {"number": request.session[SENT]})


def _whom(request: Visit) -> dict[str, Any]:
    today = request.actor.today
    officers = list(confiding.officers_for(request.actor, on=today))
    seconds = list(confiding.seconds_of(confiding.clubs_of(request.actor, on=today), on=today))
    return {
        "officers": officers,
        "seconds": seconds,
        "clubs": {tie.club_id for tie in [*officers, *seconds]},
    }


def _form(found: dict[str, Any], typed: Any) -> ConcernForm:  # noqa: ANN401 - whatever a form takes
    clubs = Club.objects.filter(id__in=found.get("clubs", ())).order_by("name")
    return ConcernForm(typed, clubs=clubs, has_second=bool(found.get("seconds")))


def _hindrance(request: Visit, form: ConcernForm, *, is_known: bool) -> tuple[int, str] | None:
    """The status and the words for what is in the way; None once the concern is kept."""
    if not is_known:
        return 403, _(
            "You are signed out by now. Your words still stand below: sign in on another page, "
            "come back to this one, and send them."
        )
    if _checked(request).status_code == HTTPStatus.FORBIDDEN:
        return 403, _("This page was open for long. Your words still stand below: send them again.")
    if not form.is_valid():
        return 422, _("Not sent yet: something is missing. It is marked below.")
    if wait := seconds_to_wait(request, "concerns", AT_MOST, HOUR):
        minutes = -(-wait // MINUTE)
        return 429, ngettext(
            "You have told us much in a short time, and it is all here. Send this in a minute.",
            "You have told us much in a short time, and it is all here. "
            "Send this in %(minutes)s minutes, or write to the address above.",
            minutes,
        ) % {"minutes": minutes}
    return _kept(request, form)


@csrf_protect
def _checked(_request: Visit) -> HttpResponse:
    """Asked for its refusal only."""
    return HttpResponse()


def _kept(request: Visit, form: ConcernForm) -> tuple[int, str] | None:
    given = dict(form.cleaned_data)
    club, code = given.pop("club", form.only_club), given.pop("code")
    try:
        case = reporting.report(
            reporting.Concern(**given), club=club, code=code, by=request.actor.user, at=request.now
        )
    except reporting.Unheard:
        return 422, _(
            "In this club nobody else is named to hear it. Turn to your sport’s governing body."
        )
    request.session[SENT] = case.number
    return None
