"""The pages on which a club makes the words its own."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms as django_forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from portal.kit.declaring import asks
from portal.people.access import must
from portal.people.http import Request, page
from portal.people.models import Club
from portal.technique import owning
from portal.technique.access import club_to_change, squad_to_lead
from portal.technique.forms import (
    BookForm,
    MonthForm,
    OwnCheckpointForm,
    OwnDrillForm,
    OwnFaultForm,
    RewordFaultForm,
    RewordForm,
)
from portal.technique.models import Fault, Wording
from portal.technique.owning import MODELS, By, Refused
from portal.technique.wording import Words, month_of, months

READ_OR_SEND = ["GET", "HEAD", "POST"]


@require_http_methods(READ_OR_SEND)
@asks(club_to_change, must)
def own(request: Request) -> HttpResponse:
    """The rule book is a setting of the club, and so the head coach's."""
    club = club_to_change(request.actor, request.GET.get("club", ""))
    words = Words.of(club)
    form = BookForm(request.POST or None, initial={"rule_book": words.book})
    if request.method == "POST":
        must(club.pk in request.actor.heads)
        if form.is_valid():
            owning.choose_book(club, form.cleaned_data["rule_book"], by=_by(request))
            messages.success(request, _("The rule book is kept."))
            return redirect(_address("own", club))
    led = [squad for squad in club.squads.all() if request.actor.leads(squad)]
    context = {
        "book": form if club.pk in request.actor.heads else None,
        "changed": _changed(words),
        "added": _added(club),
        "squads": months(words, led, club.day(request.now)),
        "kinds": list(MODELS),
    }
    return _page(request, "technique/own.html", words, context, form=form)


@require_http_methods(READ_OR_SEND)
@asks(club_to_change)
def reword(request: Request, table: str, slug: str) -> HttpResponse:
    """Everybody's word gets the club's name and cue; a word of the club's own is written anew."""
    club = club_to_change(request.actor, request.GET.get("club", ""))
    words = Words.of(club)
    term = words.terms(_model(table).objects.all()).filter(slug=slug).first()
    if term is None:
        raise Http404
    form = _form_for(request, table, term, words)
    if form.is_valid():
        said = dict(form.cleaned_data)
        try:
            if term.club_id:
                owning.change(term, _columns(said), drills=said.get("drills", ()), by=_by(request))
            else:
                owning.reword(club, table, slug, said, by=_by(request))
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, _("Kept. Your coaches are offered it from now on."))
            return redirect(_address("own", club))
    context = {"term": term, "table": table, "form": form}
    return _page(request, "technique/reword.html", words, context, form=form)


@require_http_methods(READ_OR_SEND)
@asks(club_to_change)
def add(request: Request, table: str) -> HttpResponse:
    club = club_to_change(request.actor, request.GET.get("club", ""))
    words = Words.of(club)
    form = _own_form(request, table, words, None)
    if form.is_valid():
        said = dict(form.cleaned_data)
        drills = said.get("drills", ())
        try:
            owning.add(club, _model(table), _columns(said), drills=drills, by=_by(request))
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, _("Added. Your coaches are offered it from now on."))
            return redirect(_address("own", club))
    context = {"form": form, "table": table}
    return _page(request, "technique/add.html", words, context, form=form)


@require_POST
@asks(club_to_change)
def retire(request: Request, table: str, slug: str) -> HttpResponse:
    club = club_to_change(request.actor, request.GET.get("club", ""))
    term = _model(table).objects.filter(club=club, slug=slug).first()
    if term is None:
        raise Http404
    try:
        owning.retire(term, by=_by(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("Retired. What was said with it stays."))
    return redirect(_address("own", club))


@require_http_methods(READ_OR_SEND)
@asks(squad_to_lead)
def month(request: Request, code: UUID) -> HttpResponse:
    squad = squad_to_lead(request.actor, code)
    words, day = Words.of(squad.club), squad.club.day(request.now)
    sent = request.POST if request.method == "POST" else None
    form = MonthForm(sent, words=words, chosen=month_of(squad, day))
    if form.is_valid():
        try:
            owning.set_month(squad, day, form.slugs(), by=_by(request))
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Kept. The finder offers them first."))
            return redirect(_address("own", squad.club))
    context = {"squad": squad, "day": day, "form": form}
    return _page(request, "technique/month.html", words, context, form=form)


def _by(request: Request) -> By:
    return By(request.user, request.now)


def _model(table: str) -> Any:  # noqa: ANN401
    if table not in MODELS:
        raise Http404
    return MODELS[table]


def _form_for(request: Request, table: str, term: Any, words: Words) -> django_forms.Form:  # noqa: ANN401
    if term.club_id:
        return _own_form(request, table, words, term)
    sent = request.POST if request.method == "POST" else None
    wording = words.wording(term)
    drills = [*(wording.drills if wording else ()), "", ""]
    names = ("name", "cue", "cue_young", "is_hidden")
    initial = {name: getattr(wording, name) for name in names} if wording else {}
    if isinstance(term, Fault):
        initial |= {"drill": drills[0], "other_drill": drills[1]}
        return RewordFaultForm(sent, words=words, initial=initial)
    return RewordForm(sent, initial=initial)


def _own_form(request: Request, table: str, words: Words, term: Any) -> django_forms.Form:  # noqa: ANN401
    sent = request.POST if request.method == "POST" else None
    initial = _initial(term) if term else None
    if _model(table) is Fault:
        return OwnFaultForm(sent, words=words, initial=initial)
    return (OwnCheckpointForm if table == "checkpoints" else OwnDrillForm)(sent, initial=initial)


def _initial(term: Any) -> dict[str, Any]:  # noqa: ANN401
    initial = {field.name: getattr(term, field.name) for field in term._meta.fields}
    initial["strokes"] = term.stroke_slugs
    if isinstance(term, Fault):
        drills = [*term.drills.values_list("slug", flat=True), "", ""]
        initial |= {"checkpoint": term.checkpoint.slug, "also": "\n".join(term.also)}
        initial |= {"drill": drills[0], "other_drill": drills[1]}
    return initial


def _columns(said: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in said.items() if key != "drills"}


def _changed(words: Words) -> list[tuple[Wording, str]]:
    """With what everybody calls it."""
    names = {
        (table, slug): name
        for table, model in MODELS.items()
        for slug, name in model.objects.filter(club=None).values_list("slug", "name")
    }
    rows = [(each, names.get(key, each.slug)) for key, each in words.said.items()]
    return sorted(rows, key=lambda row: row[1])


def _added(club: Club) -> list[tuple[str, Any]]:
    return [
        (table, term)
        for table, model in MODELS.items()
        for term in model.objects.filter(club=club, is_retired=False)
    ]


def _address(name: str, club: Club) -> str:
    return f"{reverse(f'technique:{name}')}?{urlencode({'club': str(club.code)})}"


def _page(
    request: Request,
    template: str,
    words: Words,
    context: dict[str, Any],
    *,
    form: Any,  # noqa: ANN401
) -> HttpResponse:
    shown = {"place": "technique", "club": words.club, "words": words, **context}
    return page(request, template, shown, status=422 if form.errors else 200)
