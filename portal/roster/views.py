"""Who swims and who belongs to whom, for a club's staff. Only the head coach changes it."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.access import must
from portal.people.ages import GROWN_UP
from portal.people.http import Request, page
from portal.people.models import Swimmer
from portal.people.reaching import squad_for
from portal.people.recent import must_be_recent
from portal.roster import (
    access,
    comparing,
    enrolling,
    exporting,
    gathering,
    guarding,
    inviting,
    moving,
    parsing,
    wording,
)
from portal.roster.forms import (
    AddressForm,
    DayForm,
    GuardianForm,
    ListForm,
    MoveForm,
    NamesForm,
    NewcomerForm,
)

READ_OR_SEND = ["GET", "HEAD", "POST"]


@require_safe
@asks(squad_for)
def squad(request: Request, code: UUID) -> HttpResponse:
    squad = squad_for(request.actor, code)
    today = squad.club.day(request.now)
    people = gathering.people(squad, at=request.now)
    leads, heads = request.actor.leads(squad), squad.club_id in request.actor.heads
    context = {
        "place": "swimmers",
        "squad": squad,
        "people": people,
        "leads": leads,
        "heads": heads,
        "shows_addresses": heads or (leads and squad.club.shows_contacts),
        "purposes": list(gathering.PURPOSES.values()),
        "former": gathering.former(squad, on=today) if heads else [],
        "grown": [
            (each, day)
            for each in people
            if heads and (day := gathering.turned_18(each.swimmer, on=today))
        ],
    }
    return page(request, "roster/squad.html", context)


@require_safe
@asks(squad_for)
def export(request: Request, code: UUID) -> HttpResponseBase:
    squad = squad_for(request.actor, code)
    must(request.actor.leads(squad), _("The list is for the squad’s coaches."))
    must_be_recent(request)
    return _file(request, code)


@at_most(20, within=HOUR, of="exports", methods=frozenset({"GET"}))
def _file(request: Request, code: UUID) -> HttpResponseBase:
    squad = squad_for(request.actor, code)
    shows_addresses = squad.club_id in request.actor.heads or squad.club.shows_contacts
    people = gathering.people(squad, at=request.now)
    text = exporting.as_csv(people, squad, with_addresses=shows_addresses)
    note(Entry.Action.SAW, squad, at=request.now, by=request.user, club=squad.club, what="list")
    name = f"{slugify(squad.name) or 'squad'}-{squad.club.day(request.now):%Y-%m-%d}.csv"
    # With its mark, since a spreadsheet takes UTF-8 without it for something else.
    response = HttpResponse("\ufeff" + text, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@require_http_methods(READ_OR_SEND)
@asks(squad_for)
def add(request: Request, code: UUID) -> HttpResponse:
    squad = squad_for(request.actor, code)
    must(squad.club_id in request.actor.heads, _("The head coach adds swimmers."))
    today = squad.club.day(request.now)
    sent = request.POST if request.method == "POST" else None
    form = NewcomerForm(sent, today=today, initial={"day": today})
    if form.is_valid():
        given = form.cleaned_data
        names = given["first_name"], given["last_name"]
        newcomer = enrolling.Newcomer(*names, given["born"], squad, form.guardians())
        try:
            swimmer = enrolling.enrol(newcomer, on=given["day"], by=request.user, at=request.now)
        except (enrolling.AlreadyHere, moving.NotMoved, guarding.NotTied) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%(name)s is in.") % {"name": swimmer.name})
            return redirect("roster:swimmer", swimmer.code)
    context = {"place": "swimmers", "squad": squad, "form": form}
    return page(request, "roster/add.html", context)


@require_http_methods(READ_OR_SEND)
@asks(squad_for)
def take_list(request: Request, code: UUID) -> HttpResponse:
    """Look first, then take over what was looked at."""
    squad = squad_for(request.actor, code)
    must(squad.club_id in request.actor.heads, _("The head coach adds swimmers."))
    today = squad.club.day(request.now)
    form = ListForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"place": "swimmers", "squad": squad, "columns": list(parsing.Column)}
    if form.is_valid():
        try:
            text = form.list_text()
            listed = parsing.parse(text, today=today, order=form.day_order())
            form = ListForm(initial={"text": text, "order": form.cleaned_data["order"]})
            found = comparing.compare(listed, squad=squad, on=today)
            if request.POST.get("act") == "take":
                mark = request.POST.get("mark", "")
                found = comparing.take_over(
                    listed, squad=squad, mark=mark, on=today, by=request.user, at=request.now
                )
                messages.success(request, _taken(found))
                return redirect("roster:squad", squad.code)
            context |= {"listed": listed, "found": found}
        except parsing.Unreadable as error:
            form.add_error("text" if form.is_bound else None, wording.unreadable(error))
        except comparing.Outdated:
            context |= {"listed": listed, "found": found, "is_outdated": True}
        except (guarding.NotTied, moving.NotMoved, enrolling.AlreadyHere) as error:
            context |= {"listed": listed, "found": found, "hindrance": str(error)}
    return page(request, "roster/list.html", {**context, "form": form})


def _taken(found: comparing.Comparison) -> str:
    added = ngettext("%(n)s swimmer added", "%(n)s swimmers added", len(found.added))
    changed = ngettext("%(n)s changed", "%(n)s changed", len(found.differing))
    return f"{added % {'n': len(found.added)}}, {changed % {'n': len(found.differing)}}."


@require_safe
@asks(access.swimmer_for)
def swimmer(request: Request, code: UUID) -> HttpResponse:
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    return swimmer_page(request, swimmer)


def swimmer_page(request: Request, swimmer: Swimmer, **bound: forms.Form) -> HttpResponse:
    """`bound` are forms that somebody has filled in, with what has to be mended."""
    today, heads = swimmer.club.day(request.now), access.heads(request.actor, swimmer)
    [person] = gathering.persons([swimmer], at=request.now)
    places = swimmer.places.select_related("squad").order_by("-starts", "-pk")
    is_leader = heads or places.on(today).filter(squad__in=request.actor.coaches).exists()
    context = {
        "place": "swimmers",
        "swimmer": swimmer,
        "person": person,
        "today": today,
        "heads": heads,
        "leads": is_leader,
        "shows_addresses": heads or (is_leader and swimmer.club.shows_contacts),
        "places": places,
        "squads": [each.squad for each in places.on(today)],
        "households": gathering.households([swimmer], at=request.now) if heads else [],
        "is_grown": person.age >= GROWN_UP,
        "turned_18": gathering.turned_18(swimmer, on=today),
        **(_forms(swimmer, today) if heads else {}),
        **bound,
    }
    return page(request, "roster/swimmer.html", context)


def done(request: Request, swimmer: Swimmer, said: str) -> HttpResponse:
    messages.success(request, said)
    return redirect("roster:swimmer", swimmer.code)


def _forms(swimmer: Swimmer, today: date) -> dict[str, forms.Form]:
    names = {name: getattr(swimmer, name) for name in ("first_name", "last_name", "born")}
    here = swimmer.places.on(today).values("squad")
    elsewhere = swimmer.club.squads.exclude(pk__in=here).first()
    return {
        "names_form": NamesForm(today=today, initial=names),
        "move_form": MoveForm(
            club=swimmer.club_id, initial={"day": today, "squad": elsewhere and elsewhere.code}
        ),
        "leave_form": DayForm(initial={"day": today}, auto_id="leave_%s"),
        "guardian_form": GuardianForm(auto_id="guardian_%s"),
        "address_form": AddressForm(auto_id="own_%s"),
    }


@require_POST
@asks(access.swimmer_for, access.heads)
def correct(request: Request, code: UUID) -> HttpResponse:
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, swimmer), _("The head coach corrects this."))
    form = NamesForm(request.POST, today=swimmer.club.day(request.now))
    if form.is_valid():
        try:
            enrolling.correct(swimmer, **form.cleaned_data, by=request.user, at=request.now)
            return done(request, swimmer, _("Corrected."))
        except enrolling.AlreadyHere as error:
            form.add_error(None, str(error))
    return swimmer_page(request, swimmer, names_form=form)


@require_POST
@asks(access.swimmer_for, access.heads)
def move(request: Request, code: UUID) -> HttpResponse:
    """Also back into the club."""
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, swimmer), _("The head coach moves swimmers."))
    form = MoveForm(request.POST, club=swimmer.club_id)
    if form.is_valid():
        given = form.cleaned_data
        try:
            moving.move(
                swimmer,
                to=given["squad"],
                on=given["day"],
                keeps=given["keeps"],
                by=request.user,
                at=request.now,
            )
            return done(request, swimmer, _("The squads are changed."))
        except moving.NotMoved as error:
            form.add_error(None, str(error))
    return swimmer_page(request, swimmer, move_form=form)


@require_POST
@asks(access.swimmer_for, access.heads)
def leave(request: Request, code: UUID) -> HttpResponse:
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, swimmer), _("The head coach does this."))
    form = DayForm(request.POST, auto_id="leave_%s")
    if form.is_valid():
        try:
            moving.leave(swimmer, on=form.cleaned_data["day"], by=request.user, at=request.now)
            return done(request, swimmer, _("Written down. The family keeps what it has."))
        except moving.NotMoved as error:
            form.add_error(None, str(error))
    return swimmer_page(request, swimmer, leave_form=form)


@require_POST
@at_most(120, within=HOUR, of="invitations")
@asks(access.swimmer_for, access.heads)
def link(request: Request, code: UUID) -> HttpResponse:
    """Name another guardian, who is asked in by mail."""
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, swimmer), _("The head coach names guardians."))
    form = GuardianForm(request.POST, auto_id="guardian_%s")
    if form.is_valid():
        who: dict[str, Any] = {"by": request.user, "at": request.now}
        today = swimmer.club.day(request.now)
        try:
            with transaction.atomic():
                tie = enrolling.name_guardian(swimmer, form.named(), on=today, **who)
                inviting.invite_guardians([tie], **who)
            return done(request, swimmer, _("Named, and invited by mail."))
        except guarding.NotTied as error:
            form.add_error(None, str(error))
    return swimmer_page(request, swimmer, guardian_form=form)


@require_POST
@at_most(120, within=HOUR, of="invitations")
@asks(access.swimmer_for, access.heads)
def invite_grown_up(request: Request, code: UUID) -> HttpResponse:
    """From 18 on the club asks the swimmer; before, only a guardian can."""
    swimmer = access.swimmer_for(request.actor, code, on=request.actor.today)
    must(access.heads(request.actor, swimmer), _("The head coach invites grown-up swimmers."))
    form = AddressForm(request.POST, auto_id="own_%s")
    if form.is_valid():
        address = form.cleaned_data["address"]
        try:
            inviting.invite_swimmer(swimmer, address=address, by=request.user, at=request.now)
            return done(request, swimmer, _("Invited by mail."))
        except inviting.NotInvited as error:
            form.add_error(None, str(error))
    return swimmer_page(request, swimmer, address_form=form)
