"""One guardian's tie to one child: ending it, shutting it, asking again."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.access import must
from portal.people.http import Request
from portal.people.models import Guardianship
from portal.roster import access, enrolling, guarding, inviting
from portal.roster.forms import DayForm, GuardianForm
from portal.roster.views import done, swimmer_page


@require_POST
@asks(access.own_tie_for, access.tie_for, access.heads)
def end(request: Request, code: UUID) -> HttpResponse:
    """By the head coach from a day on; by guardians, only their own and from today on."""
    today, by = request.actor.today, _who(request)
    own = access.own_tie_for(request.actor, code, on=today)
    if own and not access.heads(request.actor, own.swimmer):
        guarding.end(own, on=own.swimmer.club.day(request.now), **by)
        name = own.swimmer.first_name
        messages.success(request, _("You are not tied to %(name)s here any more.") % {"name": name})
        return redirect("home")
    tie = access.tie_for(request.actor, code, on=today)
    must(access.heads(request.actor, tie.swimmer), _("The head coach ends a guardian’s tie."))
    form = DayForm(request.POST)
    if not form.is_valid():
        return _again(request, tie)
    guarding.end(tie, on=form.cleaned_data["day"], **by)
    return done(request, tie.swimmer, _("The tie ends from that day on."))


@require_POST
@asks(access.tie_for, access.heads)
def bar(request: Request, code: UUID) -> HttpResponse:
    """From a day on, or no longer. Nobody is told."""
    tie, by = access.tie_for(request.actor, code, on=request.actor.today), _who(request)
    must(access.heads(request.actor, tie.swimmer), _("This is for the head coach."))
    if tie.barred_from:
        guarding.lift_bar(tie, **by)
        return done(request, tie.swimmer, _("The bar is lifted."))
    form = DayForm(request.POST)
    if not form.is_valid():
        return _again(request, tie)
    guarding.bar(tie, on=form.cleaned_data["day"], **by)
    return done(request, tie.swimmer, _("Shut from that day on. Nobody was told."))


@require_POST
@at_most(120, within=HOUR, of="invitations")
@asks(access.tie_for, access.heads)
def invite(request: Request, code: UUID) -> HttpResponse:
    tie = access.tie_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, tie.swimmer), _("This is for the head coach."))
    if tie.is_accepted:
        messages.info(request, _("This guardian has answered already."))
        return redirect("roster:swimmer", tie.swimmer.code)
    inviting.invite_guardians([tie], by=request.user, at=request.now)
    return done(request, tie.swimmer, _("Invited once more, for seven days."))


@require_POST
@at_most(120, within=HOUR, of="invitations")
@asks(access.tie_for, access.heads)
def readdress(request: Request, code: UUID) -> HttpResponse:
    """While nobody has answered: the invitation goes to another address, and the tie with it."""
    tie, by = access.tie_for(request.actor, code, on=request.actor.today), _who(request)
    must(access.heads(request.actor, tie.swimmer), _("This is for the head coach."))
    form = GuardianForm({"name": tie.called or tie.name, "address": request.POST.get("address")})
    if not form.is_valid():
        return _again(request, tie, " ".join(str(each) for each in form.errors.get("address", [])))
    swimmer = tie.swimmer
    try:
        with transaction.atomic():
            guarding.forget(tie, **by)
            new = enrolling.name_guardian(swimmer, form.named(), on=tie.starts, **by)
            inviting.invite_guardians([new], **by)
    except guarding.NotTied as error:
        return _again(request, tie, str(error))
    return done(request, swimmer, _("Invited at the other address."))


def _who(request: Request) -> dict[str, Any]:
    """By whom and when, as the verbs take it."""
    return {"by": request.user, "at": request.now}


def _again(request: Request, tie: Guardianship, said: str = "") -> HttpResponse:
    messages.error(
        request, said or _("The day could not be read. Choose one; nothing was changed.")
    )
    return swimmer_page(request, tie.swimmer)
