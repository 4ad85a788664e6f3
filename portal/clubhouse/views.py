"""The club's own pages: what is missing before the first evening, and where it is set right."""

from __future__ import annotations

from typing import Any, NamedTuple
from uuid import UUID

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.clubhouse import forms, missing, searching, staffing, trying
from portal.clubhouse.access import address, headed_club, headed_clubs
from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, MINUTE, at_most
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.people.models import Club, Membership
from portal.people.reaching import squads_of
from portal.people.recent import must_be_recent
from portal.recordings import rooming

READ_OR_SEND = ["GET", "HEAD", "POST"]


class Kind(NamedTuple):
    """A list of things that a club has, on one page with the form for them."""

    rows: str
    form: type[forms.OfClub]
    title: str | Promise
    lead: str | Promise
    add: str | Promise


KINDS = {
    "seasons": Kind(
        "seasons",
        forms.SeasonForm,
        gettext_lazy("Seasons"),
        gettext_lazy("A family’s yes ends some weeks after the season in which it was given."),
        gettext_lazy("Add a season"),
    ),
    "pools": Kind(
        "pools",
        forms.PoolForm,
        gettext_lazy("Pools"),
        gettext_lazy("Where you film. The length matters for splits and for what is legal."),
        gettext_lazy("Add a pool"),
    ),
    "squads": Kind(
        "squads",
        forms.SquadForm,
        gettext_lazy("Squads"),
        gettext_lazy("Each with a second adult, so that no coach writes to a child alone."),
        gettext_lazy("Add a squad"),
    ),
}


@require_safe
@asks(headed_club)
def first_evening(request: Request) -> HttpResponse:
    """In order, what is there and what is still missing before anybody is filmed."""
    club = headed_club(request.actor, _asked(request))
    steps = missing.steps(club, on=club.day(request.now))
    context = {
        "place": "club",
        "club": club,
        "clubs": headed_clubs(request.actor),
        "steps": steps,
        "open": sum(not step.is_done for step in steps),
        "next": next((step for step in steps if not step.is_done), None),
    }
    return page(request, "clubhouse/first_evening.html", context)


@require_POST
@at_most(10, within=HOUR, of="trial mails")
@asks(headed_club)
def try_mail(request: Request) -> HttpResponse:
    club = headed_club(request.actor, _asked(request))
    trying.try_mail(club, to=request.user, at=request.now)
    messages.success(request, _("A test mail is on its way to you. Look again in a minute."))
    return redirect(address("first_evening", club))


@require_http_methods(READ_OR_SEND)
@asks(headed_club)
def settings(request: Request) -> HttpResponse:
    club = headed_club(request.actor, _asked(request))
    form = forms.SettingsForm(request.POST if request.method == "POST" else None, instance=club)
    if form.is_valid():
        form.save()
        note(Entry.Action.CHANGED, club, at=request.now, by=request.user, club=club)
        messages.success(request, _("The club’s settings are kept."))
        return redirect(address("first_evening", club))
    context = {"place": "club", "club": club, "form": form, "room": rooming.room(club)}
    return page(request, "clubhouse/settings.html", context, status=_status(form))


@require_http_methods(READ_OR_SEND)
@asks(headed_club)
def seasons(request: Request) -> HttpResponse:
    return _list(request, headed_club(request.actor, _asked(request)), "seasons")


@require_http_methods(READ_OR_SEND)
@asks(headed_club)
def pools(request: Request) -> HttpResponse:
    return _list(request, headed_club(request.actor, _asked(request)), "pools")


@require_http_methods(READ_OR_SEND)
@asks(headed_club, squads_of)
def squads(request: Request) -> HttpResponse:
    """Who works with a squad reads of theirs what a head coach sets."""
    if request.method != "POST" and request.actor.is_staff and not request.actor.heads:
        theirs = squads_of(request.actor).select_related("club", "second_adult")
        context = {"place": "swimmers", "squads": theirs}
        return page(request, "clubhouse/squads.html", context)
    return _list(request, headed_club(request.actor, _asked(request)), "squads")


@require_safe
@asks(headed_club)
def left(request: Request) -> HttpResponse:
    club = headed_club(request.actor, _asked(request))
    swimmers = club.swimmers.filter(left_on__lte=club.day(request.now)).order_by(
        "-left_on", "first_name", "last_name"
    )
    context = {"place": "club", "club": club, "swimmers": swimmers}
    return page(request, "clubhouse/left.html", context)


def _list(request: Request, club: Club, name: str) -> HttpResponse:
    """`?change=` is the code of the row that the form is about; without it, a new one."""
    kind = KINDS[name]
    rows = list(getattr(club, kind.rows).all())
    code = request.GET.get("change", "")
    row = next((each for each in rows if str(each.code) == code), None)
    form = kind.form(request.POST if request.method == "POST" else None, club=club, instance=row)
    if form.is_valid():
        thing = form.save()
        action = Entry.Action.CHANGED if row else Entry.Action.MADE
        note(action, thing, at=request.now, by=request.user, club=club)
        messages.success(request, _("“%(name)s” is kept.") % {"name": thing.name})
        return redirect(address(name, club))
    context: dict[str, Any] = {
        "place": "club",
        "club": club,
        "kind": kind,
        "rows": rows,
        "row": row,
        "form": form,
    }
    return page(request, "clubhouse/list.html", context, status=_status(form))


@require_http_methods(READ_OR_SEND)
@asks(headed_club)
def staff(request: Request) -> HttpResponse:
    """Everybody with a part in the club today, and the form to give one."""
    club = headed_club(request.actor, _asked(request))
    must_be_recent(request)
    form = forms.RoleForm(club, request.POST if request.method == "POST" else None)
    if form.is_valid():
        given = form.cleaned_data
        try:
            member = staffing.give(
                club,
                Membership.Role(given["role"]),
                squad=given["squad"],
                name=given["name"],
                address=given["address"],
                by=request.user,
                at=request.now,
            )
        except staffing.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("%(name)s is told by mail.") % {"name": member.user})
            return redirect(address("staff", club))
    members = Membership.objects.filter(club=club).on(club.day(request.now))
    context = {
        "place": "club",
        "club": club,
        "form": form,
        "members": members.select_related("user", "squad").order_by("user__name", "role"),
    }
    return page(request, "clubhouse/staff.html", context, status=_status(form))


@require_POST
@asks(headed_club)
def end_role(request: Request, code: UUID) -> HttpResponse:
    headed_club(request.actor)
    members = Membership.objects.filter(club__in=request.actor.heads).on(request.actor.today)
    member = get_object_or_404(members.select_related("club", "user"), code=code)
    must_be_recent(request)
    try:
        staffing.end(member, by=request.user, at=request.now)
    except staffing.Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("The part of %(name)s has ended.") % {"name": member.user})
    return redirect(address("staff", member.club))


@require_safe
@at_most(60, within=MINUTE, of="searches", methods=frozenset({"GET"}))
@staff_only
def search(request: Request) -> HttpResponse:
    query = request.GET.get("q", "").strip()[: searching.LONGEST]
    found = searching.search(query, by=request.actor) if query else None
    return page(request, "clubhouse/search.html", {"query": query, "found": found})


def _status(form: BaseForm) -> int:
    return 422 if form.is_bound else 200


def _asked(request: Request) -> str:
    return request.GET.get("club", "")
