"""Lane plans: proposed, changed by hand, kept, printed. Without script buttons send forms."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.planning import filming, gathering, moving, proposing
from portal.planning.access import lane_for, plan_for
from portal.planning.forms import LaneForm, PracticeForm
from portal.planning.models import Lane, Plan
from portal.planning.wanting import Theme
from portal.recordings.access import session_for

NEWEST = 12


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def plans(request: Request) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    form = PracticeForm(typed, actor=request.actor)
    if form.is_valid():
        plan = proposing.propose(form.practice(), by=request.user, at=request.now)
        return redirect("planning:plan", plan.code)
    found = Plan.objects.visible_to(request.actor).select_related("squad", "kept_by")
    context = {
        "place": "lanes",
        "form": form,
        "may_propose": bool(form.squads()),
        "plans": found[:NEWEST],
        "today": request.actor.today,
    }
    return page(request, "planning/plans.html", context, status=422 if typed is not None else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(plan_for, Actor.leads)
def plan(request: Request, code: UUID) -> HttpResponse:
    """Assistants read it; what is sent to it is a coach's."""
    plan = plan_for(request.actor, code)
    if request.method != "POST":
        return _page(request, plan)
    must(request.actor.leads(plan.squad))
    act = request.POST.get("act")
    said = ""
    if act == "again":
        proposing.propose_again(plan, by=request.user, at=request.now)
        said = _("Proposed again. What is held has stayed.")
    elif act == "rest":
        seated = moving.seat_the_rest(plan)
        said = ngettext("%(n)d swimmer seated.", "%(n)d swimmers seated.", seated) % {"n": seated}
    elif act == "keep":
        moving.keep(plan, by=request.user, at=request.now)
        said = _("The plan is kept.")
    return _done(request, plan, said)


@require_POST
@asks(plan_for, Actor.leads)
def seat(request: Request, code: UUID) -> HttpResponse:
    """Where one swimmer goes: a lane by its number, `out`, `hold` or `let go`."""
    plan = plan_for(request.actor, code)
    must(request.actor.leads(plan.squad))
    to = request.POST.get("to", "")
    try:
        said = _seat(plan, request.POST.get("swimmer", ""), to)
    except moving.Refused as refused:
        return _page(request, plan, problem=str(refused), status=422)
    return _done(request, plan, said)


@require_POST
@asks(lane_for, Actor.leads)
def lane(request: Request, code: UUID) -> HttpResponse:
    """Its name and dose, its theme, or whether it is held."""
    lane = lane_for(request.actor, code)
    must(request.actor.leads(lane.plan.squad))
    act = request.POST.get("act")
    if act in ("hold", "let go"):
        Lane.objects.filter(pk=lane.pk).update(is_held=act == "hold")
    elif act == "theme":
        proposing.give(lane, _theme(request.POST.get("theme", "")))
    else:
        form = LaneForm(request.POST, lane=lane)
        if not form.is_valid():
            return _page(request, lane.plan, wrong=form, status=422)
        form.save()
    return _done(request, lane.plan, _("Lane %(number)s is changed.") % {"number": lane.number})


@require_safe
@asks(plan_for)
def sheet(request: Request, code: UUID) -> HttpResponse:
    """For the clip-board; printed from the browser."""
    plan = plan_for(request.actor, code)
    context = {"plan": plan, "shown": gathering.shown(plan), "now": request.now}
    return page(request, "planning/sheet.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(session_for, Actor.works_with)
def film_list(request: Request, code: UUID) -> HttpResponse:
    """Who is due before the camera; the chosen ones come on the session's film list."""
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    wishes = filming.wishes(session)
    if request.method == "POST":
        codes = set(request.POST.getlist("swimmer"))
        chosen = [wish for wish in wishes if str(wish.swimmer.code) in codes]
        count = filming.put(session, chosen)
        said = ngettext(
            "%(n)d swimmer came on the list.", "%(n)d swimmers came on the list.", count
        )
        messages.success(request, said % {"n": count})
        return redirect("poolside:film_list", code)
    context = {"place": "sessions", "session": session, "wishes": wishes}
    return page(request, "planning/film_list.html", context)


def _seat(plan: Plan, code: str, to: str) -> str:
    swimmer = moving.swimmer_in(plan, code)
    name = {"name": swimmer.first_name, "number": to}
    if to == "out":
        moving.unseat(plan, swimmer)
        return _("%(name)s has no lane now.") % name
    if to in ("hold", "let go"):
        moving.hold(plan, swimmer, is_held=to == "hold")
        said = _("%(name)s is held.") if to == "hold" else _("%(name)s may be moved.")
        return said % name
    moving.seat(plan, swimmer, moving.lane_in(plan, to))
    return _("%(name)s swims in lane %(number)s.") % name


def _theme(value: str) -> Theme | None:
    stroke, _space, point = value.partition(" ")
    return (stroke, int(point)) if point.isdecimal() else None


def _done(request: Request, plan: Plan, said: str) -> HttpResponse:
    if request.htmx:
        plan.refresh_from_db()
        return _page(request, plan, said=said)
    if said:
        messages.success(request, said)
    return redirect("planning:plan", plan.code)


def _page(
    request: Request,
    plan: Plan,
    *,
    said: str = "",
    problem: str = "",
    wrong: LaneForm | None = None,
    status: int = 200,
) -> HttpResponse:
    shown = gathering.shown(plan)
    context = {
        "place": "lanes",
        "plan": plan,
        "shown": shown,
        "may_change": request.actor.leads(plan.squad),
        "lanes": [
            (each, wrong if wrong and wrong.instance == each.lane else LaneForm(lane=each.lane))
            for each in shown.lanes
        ],
        "said": said,
        "problem": problem,
    }
    return page(request, "planning/plan.html", context, part="pool", status=status)
