"""A child's pages beside the notes: the drills of the week, and how things stand over time."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from portal.kit.declaring import asks, signed_in
from portal.notes import following, handing, practising
from portal.notes.access import own_child_for
from portal.people.access import must
from portal.people.http import Request, page


@require_safe
@asks(own_child_for)
def week(request: Request, code: UUID) -> HttpResponse:
    """The drills on one screen, for the edge of the pool"""
    child = own_child_for(request.actor, code)
    cards = practising.week(child, reader=request.actor)
    return page(request, "notes/week.html", {"child": child, "week": cards})


@require_safe
@asks(own_child_for)
def over_time(request: Request, code: UUID) -> HttpResponse:
    """What goes well, what is worked on, what looks sorted, what nobody looked at"""
    child = own_child_for(request.actor, code)
    today = child.club.day(request.now)
    season = following.season(child, reader=request.actor, on=today)
    return page(request, "notes/over_time.html", {"child": child, "season": season})


@require_POST
@asks(own_child_for)
def hand_over(request: Request, code: UUID) -> HttpResponse:
    """From now on this phone shows the child's view"""
    child = own_child_for(request.actor, code)
    must(handing.may_hand_over(request.actor, child))
    handing.hand_over(request.session, child)
    return redirect("notes:home")


@require_POST
@signed_in
def hand_back(request: Request) -> HttpResponse:
    """The grown-up's view again, with all settings"""
    handing.hand_back(request.session)
    return redirect("notes:home")
