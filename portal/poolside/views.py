"""The film list at the pool, made for one thumb; without script every button sends a form."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.poolside import gathering, lining
from portal.poolside.access import turn_for
from portal.poolside.forms import TurnForm
from portal.poolside.models import Turn
from portal.recordings import listing, rooming
from portal.recordings.access import session_for
from portal.recordings.models import Session

ALL = "all"


@require_http_methods(["GET", "HEAD", "POST"])
@asks(session_for, Actor.works_with)
def film_list(request: Request, code: UUID) -> HttpResponse:
    """The list; what is sent to it puts swimmers on it."""
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    if request.method != "POST":
        return _page(request, session)
    return _do(request, session, partial(_put, session, request.POST.getlist("swimmer")))


@require_POST
@asks(turn_for, Actor.works_with)
def turn(request: Request, code: UUID) -> HttpResponse:
    turn = turn_for(request.actor, code)
    must(request.actor.works_with(turn.session.squad))
    deeds: dict[str, Callable[[], None]] = {
        "filmed": partial(lining.tick, turn, at=request.now),
        "scratch": partial(lining.scratch, turn, at=request.now),
        "wait": partial(lining.wait, turn),
        **{way.value: partial(lining.move, turn, way) for way in lining.Way},
    }
    deed = deeds.get(request.POST.get("act", ""))
    if deed is None:
        return redirect("poolside:film_list", turn.session.code)
    return _do(request, turn.session, partial(_deed, deed, turn, request.POST["act"]))


@require_POST
@asks(turn_for, Actor.works_with)
def wishes(request: Request, code: UUID) -> HttpResponse:
    """Lane, view and how often."""
    turn = turn_for(request.actor, code)
    must(request.actor.works_with(turn.session.squad))
    form = TurnForm(request.POST, turn=turn)
    if not form.is_valid():
        return _page(request, turn.session, wrong=form, status=422)
    form.save()
    said = _("%(name)s: %(asked)s.") % {
        "name": turn.swimmer.first_name,
        "asked": turn.asked or _("nothing special"),
    }
    return _done(request, turn.session, said)


def _put(session: Session, chosen: list[str]) -> str:
    may = listing.may_be_filmed(session)
    swimmers = may if chosen == [ALL] else [one for one in may if str(one.code) in chosen]
    count = lining.put(session, swimmers)
    if count == 1 and len(swimmers) == 1:
        return _("%(name)s is on the list.") % {"name": swimmers[0].first_name}
    return _("%(n)d swimmers came on the list.") % {"n": count}


def _deed(deed: Callable[[], None], turn: Turn, act: str) -> str:
    deed()
    name = {"name": turn.swimmer.first_name}
    if act == "filmed":
        return _("%(name)s is filmed.") % name
    if act == "scratch":
        return _("%(name)s is scratched.") % name
    if act == "wait":
        return _("%(name)s waits again.") % name
    return _("%(name)s has moved.") % name


def _do(request: Request, session: Session, deed: Callable[[], str]) -> HttpResponse:
    try:
        said = deed()
    except lining.Refused as refused:
        return _page(request, session, problem=str(refused), status=422)
    return _done(request, session, said)


def _done(request: Request, session: Session, said: str) -> HttpResponse:
    if request.htmx:
        return _page(request, session, said=said)
    messages.success(request, said)
    return redirect("poolside:film_list", session.code)


def _page(
    request: Request,
    session: Session,
    *,
    said: str = "",
    problem: str = "",
    wrong: TurnForm | None = None,
    status: int = 200,
) -> HttpResponse:
    found = gathering.film_list(session)
    context = {
        "place": "sessions",
        "session": session,
        "list": found,
        "rows": [
            (turn, wrong if wrong and wrong.instance == turn else TurnForm(turn=turn))
            for turn in found.waiting
        ],
        "said": said,
        "problem": problem,
        "is_swapped": bool(request.htmx),
        **({} if request.htmx else rooming.limits(session.squad.club)),
    }
    return page(request, "poolside/film_list.html", context, part="list", status=status)
