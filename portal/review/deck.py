"""The deck sheet: the squad of a session, and notes on each of them without film."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.kit.declaring import asks
from portal.kit.limiting import MINUTE, at_most
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.people.models import Swimmer
from portal.recordings.access import session_for
from portal.recordings.models import Session
from portal.review import commenting, decking
from portal.review.access import deck_note_for
from portal.review.forms import DeckForm
from portal.review.gathering import flag_of, tallies, word_of
from portal.review.models import Review
from portal.technique.models import Stroke

# What most squads swim most is offered first.
USUAL = Stroke.FREE


@require_safe
@asks(session_for, Actor.works_with)
def sheet(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    found = tallies(session)
    rows = [
        {
            "swimmer": one,
            "count": sum(tally.verdicts.values()) if (tally := found.get(one.pk)) else 0,
            "word": word_of(flag_of(tally), tally),
        }
        for one in decking.squad(session)
    ]
    context = {"place": "sessions", "session": session, "rows": rows}
    return page(request, "review/deck.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@at_most(120, within=MINUTE, of="comments")
@asks(session_for, Actor.works_with)
def notes(request: Request, code: UUID, swimmer: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    whom = get_object_or_404(decking.squad(session), code=swimmer)
    stroke = _stroke(request)
    sent = request.POST if request.method == "POST" else None
    form = DeckForm(sent, stroke=stroke, club=session.squad.club)
    if form.is_valid():
        try:
            decking.write(
                session, whom, stroke=stroke, by=request.user, at=request.now, **form.said()
            )
        except commenting.Refused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, str(refused))
        else:
            messages.success(request, _("Kept for %(name)s.") % {"name": whom.first_name})
            return redirect(f"{request.path}?stroke={stroke}")
    return _page(request, session, whom, form, stroke)


def _page(
    request: Request, session: Session, whom: Swimmer, form: DeckForm, stroke: str
) -> HttpResponse:
    review = Review.objects.filter(session=session, swimmer=whom).first()
    squad = list(decking.squad(session))
    context = {
        "place": "sessions",
        "session": session,
        "swimmer": whom,
        "following": squad[(squad.index(whom) + 1) % len(squad)],
        "review": review,
        "is_out": review is not None and review.state == Review.State.PUBLISHED,
        "may_publish": request.actor.leads(session.squad),
        "notes": decking.notes(session, whom),
        "form": form,
        "stroke": stroke,
        "strokes": Stroke.choices,
    }
    status = 422 if form.is_bound else 200
    return page(request, "review/deck_notes.html", context, status=status)


def _stroke(request: Request) -> str:
    asked = request.GET.get("stroke", "")
    return asked if asked in Stroke.values else USUAL.value


@require_POST
@asks(deck_note_for)
def take_out(request: Request, code: UUID) -> HttpResponse:
    """Or bring it back."""
    note = deck_note_for(request.actor, code)
    change = commenting.restore if request.POST.get("act") == "back" else commenting.drop
    swimmer = note.reviews.values_list("swimmer__code", flat=True)[0]
    try:
        change(note, by=request.user, at=request.now)
    except commenting.Refused as refused:
        messages.error(request, str(refused))
    return redirect("review:deck_notes", note.session.code, swimmer)
