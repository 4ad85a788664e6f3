"""Pages about people. Each begins with who may see it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit.declaring import asks
from portal.people import consenting, family, listing
from portal.people.access import must
from portal.people.ages import GROWN_UP
from portal.people.forms import PolicyForm, QuestionsForm, RecordForm
from portal.people.http import Request, page
from portal.people.models import Swimmer, Weekday
from portal.people.reaching import child_for, club_for, squad_for, swimmer_for
from portal.people.recent import must_be_recent

READ_OR_SEND = ["GET", "HEAD", "POST"]


@require_safe
@asks(child_for)
def child(request: Request, code: UUID) -> HttpResponse:
    """A child's own page: the answers, who sees what, and the way to the notes."""
    swimmer = child_for(request.actor, code)
    today = swimmer.club.day(request.now)
    is_own = swimmer.pk in request.actor.is_swimmer
    is_grown_up = swimmer.age(today) >= GROWN_UP
    context = {
        "child": swimmer,
        "children": Swimmer.objects.filter(id__in=request.actor.family_ids),
        "squads": [place.squad for place in swimmer.places.on(today).select_related("squad")],
        "is_own": is_own,
        "is_grown_up": is_grown_up,
        "answers": family.own_answers(swimmer, by=request.user, on=today)
        if is_own == is_grown_up
        else [],
        "effects": family.effects(swimmer, on=today) if is_own and not is_grown_up else [],
        "guardians": family.guardians_of(swimmer, on=today) if is_own and is_grown_up else [],
        "readers": family.readers(swimmer, on=today),
        "mail_day": Weekday(swimmer.club.digest_weekday).label,
    }
    return page(request, "people/child.html", context)


@require_http_methods(READ_OR_SEND)
@asks(child_for, consenting.who_answers)
def questions(request: Request, code: UUID) -> HttpResponse:
    """All of them on one page; kept only together, so that none is forgotten."""
    swimmer = child_for(request.actor, code)
    today = swimmer.club.day(request.now)
    must(request.user in consenting.who_answers(swimmer, on=today))
    form = QuestionsForm(
        family.own_answers(swimmer, by=request.user, on=today),
        request.POST if request.method == "POST" else None,
        edition=swimmer.club.policy_edition,
    )
    if form.is_valid():
        consenting.answer_all(swimmer, form.answers(), by=request.user, at=request.now)
        messages.success(request, _("Your answers are kept. They hold from now on."))
        return redirect("people:child", code=swimmer.code)
    context = {"child": swimmer, "club": swimmer.club, "form": form}
    return page(request, "people/questions.html", context, status=422 if form.is_bound else 200)


@require_POST
@asks(child_for)
def go_on_reading(request: Request, code: UUID, tie: UUID) -> HttpResponse:
    """A grown-up swimmer lets a guardian go on reading, or no longer."""
    swimmer = child_for(request.actor, code)
    today = swimmer.club.day(request.now)
    must(swimmer.pk in request.actor.is_swimmer and swimmer.age(today) >= GROWN_UP)
    ties = {each.code: each for each in family.guardians_of(swimmer, on=today)}
    row = get_object_or_404(swimmer.guardianships, code=tie if tie in ties else None)
    may_read = request.POST.get("reads") == "yes"
    # Who reads since a while keeps that day when the button is pressed twice.
    row.granted_on = (row.granted_on or today) if may_read else None
    row.save(update_fields=["granted_on"])
    what = "goes on reading" if may_read else "reads no longer"
    note(Entry.Action.CHANGED, row, at=request.now, by=request.user, club=swimmer.club, what=what)
    return redirect("people:child", code=swimmer.code)


@require_safe
@asks(club_for)
def policy(request: Request, code: UUID) -> HttpResponse:
    """What the club's families agree to, for everybody who belongs to it."""
    club = club_for(request.actor, code)
    context = {"club": club, "may_change": club.pk in request.actor.heads}
    return page(request, "people/policy.html", context)


@require_http_methods(READ_OR_SEND)
@asks(club_for, must)
def change_policy(request: Request, code: UUID) -> HttpResponse:
    """Answers given to an earlier edition stay; who is asked anew sees which it was."""
    club = club_for(request.actor, code)
    must(club.pk in request.actor.heads)
    must_be_recent(request)
    form = PolicyForm(request.POST if request.method == "POST" else None, instance=club)
    if form.is_valid():
        club.save(update_fields=list(form.fields))
        note(Entry.Action.CHANGED, club, at=request.now, by=request.user, club=club, what="policy")
        return redirect("people:policy", code=club.code)
    return page(request, "people/change_policy.html", {"club": club, "form": form})


@require_safe
@asks(squad_for)
def squad_answers(request: Request, code: UUID) -> HttpResponse:
    """Before filming: whose camera stays off, and who has not answered yet."""
    squad = squad_for(request.actor, code)
    rows = listing.answers_of(squad, on=squad.club.day(request.now))
    context = {
        "place": "swimmers",
        "squad": squad,
        "rows": rows,
        "open": [row for row in rows if row.open],
        "sees_more": request.actor.leads(squad),
    }
    return page(request, "people/squad_answers.html", context)


@require_http_methods(READ_OR_SEND)
@asks(swimmer_for)
def answers(request: Request, code: UUID) -> HttpResponse:
    """One swimmer's answers as staff see them; coaches enter those that came on paper."""
    swimmer, squad = swimmer_for(request.actor, code)
    today = swimmer.club.day(request.now)
    may_record = request.actor.leads(squad)
    must(may_record or request.method != "POST")
    answering = listing.answering(swimmer, on=today)
    form = RecordForm(answering, request.POST if request.method == "POST" else None)
    if form.is_valid() and _recorded(request, swimmer, form):
        return redirect("people:answers", code=swimmer.code)
    context = {
        "place": "swimmers",
        "swimmer": swimmer,
        "squad": squad,
        "rows": listing.answers_about(swimmer, on=today),
        "may_record": may_record,
        "answering": answering,
        "form": form,
    }
    return page(request, "people/answers.html", context, status=422 if form.is_bound else 200)


def _recorded(request: Request, swimmer: Swimmer, form: RecordForm) -> bool:
    given = form.cleaned_data
    source = (
        consenting.Paper(given["signed_on"], request.user)
        if given["way"] == "paper"
        else consenting.Told(request.user)
    )
    try:
        consenting.answer(
            swimmer,
            given["purpose"],
            is_given=given["answer"] == "yes",
            by=form.by,
            at=request.now,
            source=source,
        )
    except consenting.NotTaken as error:
        form.add_error(None, str(error))
        return False
    return True
