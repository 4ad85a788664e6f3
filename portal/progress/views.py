"""What keeps coming back, and what nobody has looked at: pages for a squad's staff."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit.declaring import asks
from portal.kit.signs import Sign
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.people.reaching import squad_for, squads_of
from portal.progress import access, gathering, laying, phrasing


@require_safe
@staff_only
def swimmers(request: Request) -> HttpResponse:
    squads = gathering.squads(squads_of(request.actor), on=request.actor.today)
    context = {
        "place": "swimmers",
        "squads": [
            (squad, phrasing.looked_at(found), [(h, phrasing.still_open(h.items)) for h in found])
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
    history = gathering.history(swimmer, reviews)
    own = list(squads_of(request.actor))
    here = set(swimmer.places.on(today).values_list("squad_id", flat=True))
    has_older = len(history.columns) > laying.NEWEST
    shows_all = has_older and request.GET.get("sessions") == "all"
    newest = len(history.columns) if shows_all else laying.NEWEST
    context = {
        "place": "swimmers",
        "swimmer": swimmer,
        "age": swimmer.age(today),
        "squads": [squad for squad in own if squad.pk in here],
        "history": history,
        "sessions": phrasing.sessions(history),
        "open": phrasing.still_open(history.items),
        "grid": laying.grid(history, squads={squad.pk for squad in own}, newest=newest),
        "shows_all": shows_all,
        "legend": legend(),
    }
    return page(request, "progress/swimmer.html", context)


@require_safe
@asks(squad_for)
def open_items(request: Request, code: UUID) -> HttpResponse:
    squad = squad_for(request.actor, code)
    [(squad, histories)] = gathering.squads([squad], on=squad.club.day(request.now))
    context = {
        "place": "swimmers",
        "squad": squad,
        "looked_at": phrasing.looked_at(histories),
        "histories": [
            (each, phrasing.sessions(each), laying.last_looks(each)) for each in histories
        ],
        "legend": legend(),
    }
    return page(request, "progress/open_items.html", context)


def legend() -> list[tuple[Sign, str]]:
    return [(sign, str(word)) for sign, word in phrasing.WORDS.items()]
