"""What keeps coming back, and what nobody has looked at: pages for a squad's staff."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.items import checking, settling
from portal.kit.declaring import asks
from portal.kit.signs import Sign
from portal.people.access import Actor
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.people.models import SquadPlace
from portal.people.reaching import squad_for, squads_of
from portal.progress import access, disputing, gathering, laying, mustering, phrasing, trying
from portal.progress.gathering import History
from portal.progress.laying import Panel


@require_safe
@staff_only
def swimmers(request: Request) -> HttpResponse:
    squads = gathering.lists(squads_of(request.actor), on=request.actor.today)
    context = {
        "place": "swimmers",
        "squads": [
            (
                squad,
                phrasing.looked_at([(each.swimmer, bool(each.newest)) for each in found]),
                [(each, phrasing.still_open(each.open, each.not_legal)) for each in found],
            )
            for squad, found in squads
        ],
    }
    return page(request, "progress/swimmers.html", context)


@require_safe
@asks(access.swimmer_for)
def swimmer(request: Request, code: UUID) -> HttpResponse:
    today = request.actor.today
    swimmer = access.swimmer_for(request.actor, code, on=today)
    note(Entry.Action.SAW, swimmer, at=request.now, by=request.user, club=swimmer.club)
    reviews = access.reviews_of(swimmer, to=request.actor, on=today)
    history = gathering.history(swimmer, reviews, on=today)
    own = list(squads_of(request.actor))
    here = set(swimmer.places.on(today).values_list("squad_id", flat=True))
    starts, ends = laying.span(swimmer, on=today)
    marks = laying.marks(history)
    context = {
        "place": "swimmers",
        "swimmer": swimmer,
        "age": swimmer.age(today),
        "squads": [squad for squad in own if squad.pk in here],
        "history": history,
        "sessions": phrasing.sessions(history),
        "open": phrasing.open_of(history.items),
        "timeline": laying.timeline(history, marks, starts=starts, ends=ends),
        "legend": legend(),
        **_sheet(request, history, marks, squads={squad.pk for squad in own}),
    }
    return page(request, "progress/swimmer.html", context)


def _sheet(
    request: Request, history: History, marks: dict[int, list[str]], *, squads: set[int]
) -> dict[str, object]:
    """The grid of one stroke, and one of its items in full."""
    has_older = len(history.columns) > laying.NEWEST
    shows_all = has_older and request.GET.get("sessions") == "all"
    newest = len(history.columns) if shows_all else laying.NEWEST
    tabs = laying.tabs(history, request.GET.get("stroke", ""))
    chosen = next((tab.slug for tab in tabs if tab.is_current), "")
    items = [item for item in history.items if item.key.point.stroke == chosen]
    answered = checking.answered(history.swimmer)
    panel: Panel | None = None
    told = trying.Told([], [])
    if items:
        columns = history.columns[-newest:]
        panel = laying.panel(items, columns, request.GET.get("item", ""), answered)
        own = [review for review in history.reviews if review.squad in squads]
        told = trying.told(panel.item, own)
    return {
        "tabs": tabs,
        "stroke": chosen,
        "shows_all": shows_all,
        "panel": panel,
        "told": told,
        "grid": laying.grid(
            history, items, marks, squads=squads, newest=newest, with_rate=answered.is_enough
        ),
    }


@require_safe
@asks(squad_for)
def open_items(request: Request, code: UUID) -> HttpResponse:
    squad = squad_for(request.actor, code)
    histories = gathering.of_squad(squad, on=squad.club.day(request.now))
    context = {
        "place": "swimmers",
        "squad": squad,
        "looked_at": phrasing.looked_at([(each.swimmer, bool(each.columns)) for each in histories]),
        "histories": [
            (each, phrasing.sessions(each), laying.last_looks(each)) for each in histories
        ],
        "legend": legend(),
    }
    return page(request, "progress/open_items.html", context)


@require_safe
@asks(squad_for)
def squad(request: Request, code: UUID) -> HttpResponse:
    squad = squad_for(request.actor, code)
    found = mustering.muster(squad, on=squad.club.day(request.now))
    seen = [(swimmer, swimmer.pk in found.reviewed) for swimmer in found.swimmers]
    context = {
        "place": "swimmers",
        "squad": squad,
        "muster": found,
        "looked_at": phrasing.looked_at(seen),
    }
    return page(request, "progress/squad.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(squad_for, Actor.leads)
def disputes(request: Request, code: UUID) -> HttpResponse:
    """Coaches settle; an assistant reads."""
    squad = squad_for(request.actor, code)
    places = SquadPlace.objects.on(squad.club.day(request.now)).filter(squad=squad)
    swimmers = list(places.values_list("swimmer", flat=True))
    if request.method == "POST":
        if not request.actor.leads(squad):
            raise PermissionDenied
        return _settle(request, code, swimmers)
    context = {"place": "swimmers", "squad": squad, "leads": request.actor.leads(squad)}
    context["disputes"] = disputing.told(settling.disputes(swimmers))
    return page(request, "progress/disputes.html", context)


def _settle(request: Request, code: UUID, swimmers: list[int]) -> HttpResponse:
    dispute = settling.dispute_of(swimmers, request.POST.get("dispute", ""))
    counts = request.POST.get("counts")
    try:
        if dispute is None or counts not in {"there", "clean"}:
            raise settling.Settled
        settling.settle(dispute, is_there=counts == "there", by=request.user, at=request.now)
    except settling.Settled:
        messages.warning(request, _("Somebody has settled this already. Look what counts now."))
    else:
        messages.success(request, _("Settled. It counts from now on."))
    return redirect("progress:disputes", code=code)


def legend() -> list[tuple[Sign, str]]:
    return [(sign, str(word)) for sign, word in phrasing.WORDS.items()]
