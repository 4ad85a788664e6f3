"""The catalogue for everybody who belongs to a club: coaches at the desk, families on a phone."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from portal.kit.declaring import asks
from portal.people.http import Request, page
from portal.technique import seeking, shelving
from portal.technique.access import club_at_hand, clubs_of, may_change
from portal.technique.models import Phase, Stroke
from portal.technique.wording import Words, months

LONGEST_QUESTION = 80


@require_safe
@asks(club_at_hand)
def strokes(request: Request) -> HttpResponse:
    """What the club's squads work on this month is no secret among them."""
    club = club_at_hand(request.actor, _asked(request))
    words = Words.of(club)
    found = months(words, list(club.squads.all()), club.day(request.now))
    shown = [(squad, points) for squad, points in found if points]
    return _show(request, "technique/strokes.html", words, months=shown)


@require_safe
@asks(club_at_hand)
def stroke(request: Request, stroke: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    shelves = shelving.shelves(_known(stroke), words)
    return _show(request, "technique/stroke.html", words, stroke=stroke, shelves=shelves)


@require_safe
@asks(club_at_hand)
def rules(request: Request, stroke: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    found = shelving.articles(_known(stroke), words)
    phases = [
        (slug, word) for slug, word in Phase.choices if any(a.rule.phase == slug for a in found)
    ]
    phase = request.GET.get("phase", "")
    if phase:
        found = [article for article in found if article.rule.phase == phase]
    context = {"articles": found, "phases": phases, "phase": phase, "stroke": stroke}
    return _show(request, "technique/rules.html", words, **context)


@require_safe
@asks(club_at_hand)
def fault(request: Request, slug: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    sheet = shelving.fault(slug, words)
    if sheet.term.merged_into:
        return redirect("technique:fault", slug=sheet.term.merged_into.slug)
    return _show(request, "technique/fault.html", words, sheet=sheet, kind="faults")


@require_safe
@asks(club_at_hand)
def checkpoint(request: Request, slug: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    sheet = shelving.checkpoint(slug, words)
    if sheet.term.merged_into:
        return redirect("technique:checkpoint", slug=sheet.term.merged_into.slug)
    return _show(request, "technique/checkpoint.html", words, sheet=sheet, kind="checkpoints")


@require_safe
@asks(club_at_hand)
def drill(request: Request, slug: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    card = shelving.drill(slug, words)
    if card.exercise.drill.merged_into:
        return redirect("technique:drill", slug=card.exercise.drill.merged_into.slug)
    return _show(request, "technique/drill.html", words, card=card, kind="drills")


@require_safe
@asks(club_at_hand)
def rule(request: Request, slug: str) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    ruling = shelving.rule(slug, words)
    return _show(request, "technique/rule.html", words, ruling=ruling)


@require_safe
@asks(club_at_hand)
def search(request: Request) -> HttpResponse:
    words = Words.of(club_at_hand(request.actor, _asked(request)))
    query = request.GET.get("q", "").strip()[:LONGEST_QUESTION]
    hits = seeking.seek(query, words) if query else []
    return _show(request, "technique/search.html", words, query=query, hits=hits)


def _asked(request: Request) -> str:
    return request.GET.get("club", "")


def _known(stroke: str) -> str:
    if stroke not in Stroke.values:
        raise Http404
    return stroke


def _show(request: Request, template: str, words: Words, **context: Any) -> HttpResponse:  # noqa: ANN401
    actor = request.actor
    shell = {
        "shell": "_desk.html" if actor.has_role else "_family.html",
        "place": "technique",
        "strokes": Stroke.choices,
        "words": words,
        "club": words.club,
        "clubs": list(clubs_of(actor)),
        "may_change": actor.is_staff and words.club and may_change(actor, words.club),
        # Staff read all that we know of where a rule was read, families one short line.
        "is_staff": actor.is_staff,
    }
    return page(request, template, {**shell, **context})
