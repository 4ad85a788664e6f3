"""Meets, their entries, and the list of what could cost a race. Staff only, from end to end."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from portal.kit.declaring import asks
from portal.meets import entering, weighing
from portal.meets.access import enters_for, entry_for, meet_for
from portal.meets.forms import EntryForm, MeetForm, PasteForm, SlipForm
from portal.meets.models import Disqualification, Meet
from portal.meets.parsing import Line
from portal.people.access import Actor, must
from portal.people.admitting import staff_only
from portal.people.http import Request, page
from portal.people.models import SquadPlace, Swimmer

NEWEST = 30


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def meets(request: Request) -> HttpResponse:
    typed = request.POST if request.method == "POST" else None
    form = MeetForm(typed, actor=request.actor)
    if form.is_valid():
        form.instance.made_by, form.instance.made_at = request.user, request.now
        return redirect("meets:meet", form.save().code)
    context = {
        "place": "lanes",
        "form": form,
        "may_make": bool(form.clubs),
        "meets": Meet.objects.visible_to(request.actor)[:NEWEST],
        "today": request.actor.today,
    }
    return page(request, "meets/meets.html", context, status=422 if typed is not None else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(meet_for, enters_for)
def meet(request: Request, code: UUID) -> HttpResponse:
    """The race-legal list; a pasted list of entries is sent here."""
    meet = meet_for(request.actor, code)
    if request.method != "POST":
        return _page(request, meet)
    must(enters_for(request.actor, meet.club))
    form = PasteForm(request.POST)
    if not form.is_valid():
        return _page(request, meet, paste=form, status=422)
    swimmers = _swimmers(request.actor, meet)
    taken = entering.take(meet, form.cleaned_data["pasted"], swimmers=swimmers)
    said = ngettext("%(n)d entry is new.", "%(n)d entries are new.", taken.entries)
    messages.success(request, said % {"n": taken.entries})
    if taken.left:
        rest = PasteForm(initial={"pasted": taken.rest})
        return _page(request, meet, paste=rest, left=taken.left, status=422)
    return redirect("meets:meet", code)


@require_POST
@asks(meet_for, enters_for)
def enter(request: Request, code: UUID) -> HttpResponse:
    meet = meet_for(request.actor, code)
    must(enters_for(request.actor, meet.club))
    form = EntryForm(request.POST, swimmers=_swimmers(request.actor, meet))
    if not form.is_valid():
        return _page(request, meet, entry=form, status=422)
    entry = form.save(commit=False)
    new = entering.enter(meet, [(entry.swimmer, entry.event)])
    words = _("%(entry)s is down.") if new else _("%(entry)s was down already.")
    messages.success(request, words % {"entry": entry})
    return redirect("meets:meet", code)


@require_POST
@asks(entry_for, enters_for)
def withdraw(request: Request, code: UUID) -> HttpResponse:
    entry = entry_for(request.actor, code)
    must(enters_for(request.actor, entry.meet.club))
    if entry.disqualifications.exists():
        messages.error(request, _("A slip is kept for this race: the entry stays."))
    else:
        entry.delete()
        messages.success(request, _("%(entry)s is taken out.") % {"entry": entry})
    return redirect("meets:meet", entry.meet.code)


@require_http_methods(["GET", "HEAD", "POST"])
@asks(entry_for, enters_for)
def slip(request: Request, code: UUID) -> HttpResponse:
    """What an official's slip said of this race."""
    entry = entry_for(request.actor, code)
    must(enters_for(request.actor, entry.meet.club))
    form = SlipForm(request.POST if request.method == "POST" else None, entry=entry)
    if form.is_valid():
        form.instance.noted_by, form.instance.noted_at = request.user, request.now
        form.save()
        messages.success(request, _("The slip is kept."))
        return redirect("meets:meet", entry.meet.code)
    context = {
        "place": "lanes",
        "entry": entry,
        "form": form,
        "slips": Disqualification.objects.filter(entry=entry).select_related("rule"),
    }
    return page(request, "meets/slip.html", context, status=422 if form.is_bound else 200)


def _swimmers(actor: Actor, meet: Meet) -> list[Swimmer]:
    """Whom this person may enter: those they lead today, by name."""
    there = Swimmer.objects.filter(club=meet.club, left_on=None)
    if meet.club_id not in actor.heads:
        there = there.filter(
            places__in=SquadPlace.objects.on(actor.today).filter(squad__in=actor.coaches)
        ).distinct()
    return sorted(there, key=lambda swimmer: (swimmer.name, swimmer.pk))


def _page(
    request: Request,
    meet: Meet,
    *,
    paste: PasteForm | None = None,
    entry: EntryForm | None = None,
    left: list[Line] | None = None,
    status: int = 200,
) -> HttpResponse:
    may_enter = enters_for(request.actor, meet.club)
    context = {
        "place": "lanes",
        "meet": meet,
        "legal": weighing.race_legal(meet, to=request.actor),
        "may_enter": may_enter,
        "is_over": (meet.ends or meet.starts) < request.actor.today,
        "has_begun": meet.starts <= request.actor.today,
        "paste": paste or PasteForm(),
        "entry": entry or EntryForm(swimmers=_swimmers(request.actor, meet) if may_enter else []),
        "left": left or [],
    }
    return page(request, "meets/meet.html", context, status=status)
