"""The pages of those who hear concerns. Each begins with who may see it."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note_look
from portal.kit.declaring import asks
from portal.openness import access, gathering, looking, pursuing, recounting
from portal.openness.forms import LookForm, NoteForm, ReasonForm, RecordForm, SeekForm
from portal.openness.models import Case
from portal.people import suspending
from portal.people.access import must
from portal.people.ages import GROWN_UP
from portal.people.http import Request, page
from portal.people.models import Club, EmergencyLook, Suspension, User
from portal.people.recent import must_be_recent
from portal.recordings.models import Recording

READ_OR_SEND = ["GET", "HEAD", "POST"]
A_PAGE = 50
FILMS_A_PAGE = 30


@require_safe
@asks(access.listener)
def cases(request: Request) -> HttpResponse:
    access.listener(request.actor)
    found = Case.objects.visible_to(request.actor).select_related("told_by", "club")
    shown = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {"place": "cases", "cases": shown, "as_second": not request.actor.protects}
    return page(request, "openness/cases.html", context)


@require_http_methods(READ_OR_SEND)
@asks(access.case_for)
def case(request: Request, code: UUID) -> HttpResponse:
    """What was told, and what was done about it since."""
    told = access.case_for(request.actor, code)
    typed = request.POST if request.method == "POST" else None
    form = NoteForm(typed, initial={"state": told.state})
    if form.is_valid():
        pursuing.write(told, **form.cleaned_data, by=request.user, at=request.now)
        return redirect("openness:case", code=told.code)
    if typed is None:
        note_look(told, at=request.now, by=request.user, club=told.club)
    child = getattr(told.told_by, "swimmer", None)
    context = {
        "place": "cases",
        "case": told,
        "steps": gathering.steps(told),
        "form": form,
        "is_from_minor": child is not None and child.age(told.club.day(request.now)) < GROWN_UP,
        "may_hold": told.club_id in request.actor.protects,
    }
    return page(request, "openness/case.html", context, status=422 if form.is_bound else 200)


@require_safe
@asks(access.overseen)
def footage(request: Request) -> HttpResponse:
    found = gathering.films(access.overseen(request.actor))
    shown = Paginator(found, FILMS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "footage",
        "pages": shown,
        "films": gathering.watched(shown, by=request.actor),
        "case": request.GET.get("case", ""),
        "carried": _carried(request, "case"),
    }
    return page(request, "openness/footage.html", context)


@require_http_methods(READ_OR_SEND)
@asks(access.footage_for)
def film(request: Request, code: UUID) -> HttpResponse:
    """One recording with its copies in a plain player; here the officer holds it and lets it go."""
    recording = access.footage_for(request.actor, code)
    may_hold = access.may_hold(request.actor, recording)
    must(may_hold or request.method != "POST")
    form = _reason_form(request, recording.session.squad.club, thing=recording)
    if form.is_valid():
        _turn(request, recording, form)
        return redirect("openness:film", code=recording.code)
    context = {
        "place": "footage",
        "film": gathering.Film(recording, may_watch=True),
        "copies": gathering.copies(recording, by=request.actor),
        "may_hold": may_hold,
        "form": form,
    }
    return page(request, "openness/film.html", context, status=422 if form.is_bound else 200)


def _turn(request: Request, recording: Recording, form: ReasonForm) -> None:
    """The page says which of the two was meant: pressed twice, a hold stays a hold."""
    lets_go = request.POST.get("act") == "let go"
    if lets_go == (recording.held_at is None):
        return
    act = pursuing.let_go if lets_go else pursuing.hold
    club = recording.session.squad.club
    with transaction.atomic():
        kept_in = _case(request, club, form, subject=Case.Subject.CHILD)
        words = form.cleaned_data["words"]
        act(recording, case=kept_in, words=words, by=request.user, at=request.now)


@require_safe
@asks(access.suspendable)
def people(request: Request) -> HttpResponse:
    """Whom the officer may shut out: everybody of the club, found by name."""
    found = access.suspendable(request.actor).order_by("name", "pk")
    seek = SeekForm(request.GET)
    sought = seek.cleaned_data["q"] if seek.is_valid() else ""
    shown = Paginator(found.filter(name__icontains=sought), A_PAGE).get_page(
        request.GET.get("page")
    )
    clubs = Club.objects.filter(id__in=request.actor.protects | request.actor.stands_in)
    context = {
        "place": "people",
        "pages": shown,
        "people": gathering.people(_rows(shown), clubs=clubs, by=request.actor),
        "seek": seek,
        "sought": sought,
        "case": request.GET.get("case", ""),
        "carried": _carried(request, "q", "case"),
    }
    return page(request, "openness/people.html", context)


def _carried(request: Request, *names: str) -> str:
    """What the links to other pages of a list take along."""
    kept = urlencode({name: request.GET[name] for name in names if request.GET.get(name)})
    return f"{kept}&" if kept else ""


def _rows(shown: Any) -> QuerySet[User]:  # noqa: ANN401 - a page of a query
    return User.objects.filter(pk__in=[user.pk for user in shown]).order_by("name", "pk")


@require_http_methods(READ_OR_SEND)
@asks(access.person_for)
def person(request: Request, code: UUID) -> HttpResponse:
    """One person: shut out of a club, or let back in, with the reason kept in a case."""
    user, clubs = access.person_for(request.actor, code)
    club = _chosen(request, clubs)
    standing = Suspension.objects.filter(user=user, club=club, lifted_at=None).first()
    form = _reason_form(request, club, thing=standing)
    if form.is_valid() and club and _shut_or_open(request, user, club, standing, form):
        return redirect("openness:person", code=user.code)
    context = {
        "place": "people",
        "person": user,
        "club": club,
        "clubs": clubs,
        "standing": standing,
        "form": form,
        "is_oneself": user == request.user,
    }
    return page(request, "openness/person.html", context, status=422 if form.is_bound else 200)


def _chosen(request: Request, clubs: list[Club]) -> Club | None:
    asked = request.POST.get("club") or request.GET.get("club")
    return next((club for club in clubs if str(club.code) == asked), next(iter(clubs), None))


def _shut_or_open(
    request: Request, user: User, club: Club, standing: Suspension | None, form: ReasonForm
) -> bool:
    try:
        with transaction.atomic():
            kept_in = _case(request, club, form, subject=Case.Subject.PERSON)
            given = {
                "case": kept_in,
                "words": form.cleaned_data["words"],
                "by": request.user,
                "at": request.now,
            }
            if request.POST.get("act") != "let back":
                pursuing.suspend(user, club=club, **given)
            elif standing:
                pursuing.let_back(standing, **given)
    except suspending.Refused as refused:
        form.add_error(None, str(refused))
        return False
    return True


def _reason_form(
    request: Request, club: Club | None, *, thing: Recording | Suspension | None
) -> ReasonForm:
    """Offers the case from which the officer came, or that in which the measure is kept."""
    open_ones = Case.objects.visible_to(request.actor).filter(club=club)
    open_ones = open_ones.exclude(state=Case.State.CLOSED)
    kept_in = open_ones.filter(lines__thing_code=thing.code).first() if thing else None
    return ReasonForm(
        request.POST if request.method == "POST" else None,
        cases=open_ones,
        case=request.GET.get("case") or (str(kept_in.code) if kept_in else ""),
    )


def _case(request: Request, club: Club, form: ReasonForm, *, subject: Case.Subject) -> Case:
    chosen: Case | None = form.cleaned_data["case"]
    if chosen:
        return chosen
    is_officer = club.pk in request.actor.protects
    return pursuing.open_own(
        club,
        reader=Case.Reader.OFFICER if is_officer else Case.Reader.SECOND,
        subject=subject,
        words=form.cleaned_data["words"],
        by=request.user,
        at=request.now,
    )


@require_safe
@asks(access.reads_record)
def record(request: Request) -> HttpResponse:
    """Who did and saw what; that it was read is written into it as well."""
    clubs = access.reads_record(request.actor)
    is_whole = not clubs.exclude(id__in=request.actor.protects - request.actor.heads).exists()
    form = RecordForm(
        request.GET,
        people=recounting.people_of(clubs),
        swimmers=recounting.swimmers_of(clubs),
        kinds=recounting.kinds(is_whole=is_whole),
    )
    for club in clubs:
        note_look(recounting.Record(club.code), at=request.now, by=request.user, club=club)
    number = _page_number(request)
    found: QuerySet[Entry] = Entry.objects.none()
    if form.is_valid():
        sought = recounting.Sought(**form.cleaned_data)
        found = recounting.entries(list(clubs), reader=request.actor, sought=sought)
    rows = list(found[number * A_PAGE : (number + 1) * A_PAGE + 1])
    context = {
        "place": "record",
        "form": form,
        "rows": recounting.tell(rows[:A_PAGE]),
        "club": clubs[0],
        "is_whole": is_whole,
        "newer": _with_page(request, number - 1) if number else "",
        "older": _with_page(request, number + 1) if len(rows) > A_PAGE else "",
    }
    return page(request, "openness/record.html", context)


def _page_number(request: Request) -> int:
    """From 0; the record is never counted, for it may be long."""
    asked = request.GET.get("page", "")
    return int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 6 else 0


def _with_page(request: Request, number: int) -> str:
    asked = request.GET.copy()
    asked["page"] = str(number)
    return f"?{asked.urlencode()}"


@require_safe
@asks(access.protected)
def communications(request: Request) -> HttpResponse:
    """Every mail that the portal wrote for the club, as it was written."""
    found = gathering.letters(access.protected(request.actor), reader=request.actor)
    shown = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "communications",
        "pages": shown,
        "letters": [gathering.letter(mail) for mail in shown],
    }
    return page(request, "openness/communications.html", context)


@require_safe
@asks(access.protected)
def said(request: Request) -> HttpResponse:
    """Everything that was said below notes, by its writer's own name."""
    found = gathering.said(access.protected(request.actor))
    shown = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    return page(request, "openness/said.html", {"place": "communications", "pages": shown})


@require_http_methods(READ_OR_SEND)
@asks(access.run_clubs)
def emergency_look(request: Request) -> HttpResponse:
    """For whoever runs the portal: film opens for a while, and two people read why at once."""
    clubs = access.run_clubs(request.actor)
    must_be_recent(request)
    form = LookForm(request.POST if request.method == "POST" else None, clubs=clubs)
    if form.is_valid():
        looking.begin(**form.cleaned_data, by=request.user, at=request.now)
        return redirect("openness:emergency_look")
    own = EmergencyLook.objects.filter(user=request.user, club__in=clubs).order_by("-at")
    context = {
        "place": "look",
        "form": form,
        "live": own.filter(until__gt=request.now).select_related("club").first(),
        "past": own.filter(until__lte=request.now).select_related("club")[:10],
    }
    return page(request, "openness/look.html", context, status=422 if form.is_bound else 200)


@require_POST
@asks(access.own_look)
def end_look(request: Request, code: UUID) -> HttpResponse:
    looking.end(access.own_look(request.actor, code), by=request.user, at=request.now)
    messages.success(request, _("The look is over. You see no film any more."))
    return redirect("openness:emergency_look")
