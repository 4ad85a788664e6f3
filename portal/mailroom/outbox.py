"""The outbox of a club: what left, what did not, and why. Only the head coach reads it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.kit.declaring import asks
from portal.mailroom import resending
from portal.mailroom.access import mail_for, outbox_for
from portal.mailroom.composing import masked
from portal.mailroom.models import OutgoingMail
from portal.people.http import Request, page

State = OutgoingMail.State
A_PAGE = 50
AGAIN = (State.FAILED, State.UNKNOWN)


@require_safe
@asks(outbox_for)
def outbox(request: Request, code: UUID) -> HttpResponse:
    """All of it, or by `?state=` those of one end."""
    club, mails = outbox_for(request.actor, code)
    counts = dict(mails.order_by().values_list("state").annotate(Count("pk")))
    state = request.GET.get("state", "")
    shown = mails.filter(state=state) if state in State.values else mails
    found = Paginator(shown, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "club",
        "club": club,
        "states": [(each, counts[each]) for each in State if each in counts],
        "state": state,
        "mails": found,
        "rows": [(mail, masked(mail.address), mail.state in AGAIN) for mail in found],
    }
    return page(request, "mailroom/outbox.html", context)


@require_POST
@asks(mail_for)
def send_again(request: Request, code: UUID) -> HttpResponse:
    mail = mail_for(request.actor, code)
    try:
        resending.resend(mail, by=request.user, at=request.now)
    except resending.Refused as refused:
        messages.error(request, str(refused))
    else:
        said = _("It goes out once more, if its reader may still read it.")
        messages.success(request, said)
    return redirect("mailroom:outbox", mail.club.code if mail.club else code)
