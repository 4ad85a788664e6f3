"""What is filmed in a session, and the sorting table. Each begins with who may see it."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from urllib.parse import unquote
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.http import Http404, HttpResponse, HttpResponseBase, JsonResponse, UnreadablePostError
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST, require_safe

from portal.jobs import queueing
from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.recordings import (
    copying,
    cutting,
    listing,
    showing,
    shutting,
    sorting,
    throwing,
    uploading,
)
from portal.recordings.access import clip_for, recording_for, session_for
from portal.recordings.forms import CutForm
from portal.recordings.models import Clip, Recording, Session
from portal.recordings.sorting import Undo

RAW = "application/octet-stream"
BLOCK = 256 * 1024
# A browser reads an answer only after it has sent what it began to send.
DRAIN_BYTES = 16 * 1024 * 1024
# What a form adds to the file it carries.
FORM_BYTES = 64 * 1024
# The keys of the sorting table, as its page lists them.
KEYS = [
    (["I"], gettext_lazy("the stretch begins with this frame")),
    (["O"], gettext_lazy("the stretch ends with this frame")),
    (["←", "→"], gettext_lazy("one frame back or on; with shift ten")),
    (["space"], gettext_lazy("play or stop")),
    (["1", "…", "9"], gettext_lazy("this swimmer alone")),
    (["A"], gettext_lazy("the next swimmer chosen comes in addition")),
    (["N"], gettext_lazy("find a swimmer by name")),
    (["S"], gettext_lazy("next stroke")),
    (["V"], gettext_lazy("next view")),
    (["E"], gettext_lazy("next effort")),
    (["Enter"], gettext_lazy("keep, then the next swimmer")),
    (["G"], gettext_lazy("the next guess from motion")),
    (["⌫"], gettext_lazy("nothing to see in this guess")),
    (["Home", "End"], gettext_lazy("go to the in mark or the out mark")),
    (["X"], gettext_lazy("split the kept clip, the second half begins with this frame")),
    (["[", "]"], gettext_lazy("the kept clip begins or ends with this frame instead")),
    (["M"], gettext_lazy("join the kept clip with the next one")),
    (["Del"], gettext_lazy("remove the kept clip, after a question that Enter answers")),
    (["Z"], gettext_lazy("take back what was just done")),
    (["?"], gettext_lazy("this list")),
]


@require_safe
@asks(session_for)
def session(request: Request, code: UUID) -> HttpResponse:
    session = session_for(request.actor, code)
    return _session_page(request, session)


def _session_page(
    request: Request,
    session: Session,
    *,
    problem: str = "",
    not_to_be_shown: bool = False,
    status: int = 200,
) -> HttpResponse:
    roster, filmed = listing.roster(session), listing.filmed(session)
    flags = listing.flags(roster, filmed)
    rows = list(session.recordings.kept().select_related("filmed_by"))
    shut = showing.shut(rows, on=session.squad.club.day(request.now))
    takes = listing.takes(rows, clips=filmed.counts, shut=shut)
    context = {
        "place": "sessions",
        "session": session,
        "takes": takes,
        "failed": sum(take.state == Recording.State.FAILED for take in takes),
        "flags": flags,
        "is_cut": bool(filmed.cuts),
        "roster": roster,
        "may_print": request.actor.leads(session.squad),
        "problem": problem,
        "not_to_be_shown": not_to_be_shown,
        "limits": {
            "bytes": settings.RECORDING_MAX_BYTES,
            "minutes": settings.RECORDING_MAX_MINUTES,
        },
    }
    return page(request, "recordings/session.html", context, part="takes", status=status)


@require_POST
@csrf_exempt
@at_most(120, within=HOUR, of="uploads")
@asks(session_for, Actor.works_with)
def upload(request: Request, code: UUID) -> HttpResponseBase:
    """Who may, before a byte is read; `_receive` then asks for the token.

    The check against forgery reads the whole of a form first. Done in its usual place it would
    store anybody's file of any size before we had looked at who sends it.
    """
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    if request.content_type != RAW:
        try:
            uploading.must_fit(max(0, _length(request) - FORM_BYTES))
        except uploading.Refused as refused:
            return _session_page(request, session, problem=str(refused), status=422)
    request.upload_handlers = [TemporaryFileUploadHandler(request)]
    return _receive(request, session)


@csrf_protect
def _receive(request: Request, session: Session) -> HttpResponseBase:
    is_raw = request.content_type == RAW
    try:
        recording = _from_body(request, session) if is_raw else _from_form(request, session)
    except uploading.Refused as refused:
        if not is_raw:
            ticked = "not_to_be_shown" in request.POST
            return _session_page(
                request, session, problem=str(refused), not_to_be_shown=ticked, status=422
            )
        _drain(request)
        return JsonResponse({"problem": str(refused)}, status=422)
    except UnreadablePostError:
        said = _("The line broke before the whole film was here.")
        return JsonResponse({"problem": said}, status=400)
    _hand_on(request, recording)
    if is_raw:
        address = reverse("recordings:sorting", args=[recording.code])
        return JsonResponse({"code": str(recording.code), "url": address}, status=201)
    messages.success(request, _("“%(name)s” is in, and whole.") % {"name": recording.name})
    return redirect("recordings:session", session.code)


def _from_body(request: Request, session: Session) -> Recording:
    """The body is the file; nothing here may touch `request.body` or `request.POST`."""
    return uploading.receive(
        session,
        name=unquote(request.headers.get("X-File-Name", "")),
        blocks=iter(partial(request.read, BLOCK), b""),
        length=_length(request) or None,
        by=request.user,
        at=request.now,
        not_to_be_shown="X-Not-To-Be-Shown" in request.headers,
    )


def _length(request: Request) -> int:
    """Bytes of the body; 0 when none were announced, and then none can be read."""
    said = request.META.get("CONTENT_LENGTH") or ""
    return int(said) if said.isdecimal() else 0


def _from_form(request: Request, session: Session) -> Recording:
    film = request.FILES.get("film")
    if film is None:
        raise uploading.Refused(_("No file was chosen. Choose a film first."))
    return uploading.receive(
        session,
        name=film.name or "",
        blocks=film.chunks(BLOCK),
        length=film.size,
        by=request.user,
        at=request.now,
        not_to_be_shown="not_to_be_shown" in request.POST,
    )


def _hand_on(request: Request, recording: Recording) -> None:
    queueing.enqueue(
        "recordings.prepare",
        key=listing.job_key(recording),
        payload={"recording": str(recording.code)},
        at=request.now,
    )


def _drain(request: Request) -> None:
    left = DRAIN_BYTES
    while left > 0 and (block := request.read(min(BLOCK, left))):
        left -= len(block)


@require_safe
@asks(recording_for)
def state(request: Request, code: UUID) -> HttpResponse:
    """How far a recording is, asked for again and again by the session's page."""
    recording = recording_for(request.actor, code)
    if not request.htmx:
        return redirect("recordings:session", recording.session.code)
    takes = listing.takes(recording.session.recordings.kept().select_related("filmed_by"))
    take = next(each for each in takes if each.recording == recording)
    return page(request, "recordings/session.html", {"take": take}, part="take")


@require_POST
@asks(recording_for, Actor.works_with)
def again(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    [take] = listing.takes([recording])
    if take.may_be_tried_again:
        _try_again(request, take)
    return redirect("recordings:session", recording.session.code)


def _try_again(request: Request, take: listing.Take) -> None:
    if take.job is None:
        _hand_on(request, take.recording)
        return
    # Its job may be writing its own end at this moment; the page then offers to try once more.
    with suppress(queueing.NotFailed):
        queueing.retry(take.job, at=request.now)


@require_POST
@asks(clip_for, Actor.works_with)
def copy_again(request: Request, code: UUID) -> HttpResponse:
    clip = clip_for(request.actor, code)
    must(request.actor.works_with(clip.recording.session.squad))
    with suppress(queueing.NotFailed):
        copying.ask_again(clip, at=request.now)
    return redirect("recordings:sorting", clip.recording.code)


@require_POST
@asks(recording_for, Actor.works_with)
def throw_away(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    try:
        throwing.throw_away(recording, by=request.user, at=request.now)
    except throwing.Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("“%(name)s” is thrown away.") % {"name": recording.name})
    return redirect("recordings:session", recording.session.code)


@require_POST
@asks(recording_for, Actor.works_with)
def keep_from_families(request: Request, code: UUID) -> HttpResponse:
    """Somebody without consent is in it: coaches look, families never see it. Or take that back."""
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    if request.POST.get("act") == "show":
        shutting.let_families_see(recording, by=request.user, at=request.now)
    else:
        shutting.keep_from_families(recording, by=request.user, at=request.now)
    return redirect("recordings:session", recording.session.code)


@require_safe
@asks(recording_for)
def sort(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    if not showing.may_watch_whole(recording, by=request.actor, squad=recording.session.squad):
        return page(request, "recordings/shut.html", {"recording": recording})
    table = sorting.table(recording)
    if table is None:
        return redirect("recordings:session", recording.session.code)
    return _table_page(request, table, CutForm(None, table=table))


def _table_page(
    request: Request,
    table: sorting.Table,
    form: CutForm,
    *,
    said: str = "",
    undo: Undo | None = None,
) -> HttpResponse:
    """The sorting table, or only what a cut changes of it."""
    context = {
        "place": "sessions",
        "table": table,
        "length": listing.length(table.recording),
        "pace": listing.pace(table.recording),
        "form": form,
        "said": said,
        "undo": undo,
        "keys": KEYS,
    }
    status = 422 if form.is_bound else 200
    return page(request, "recordings/sorting.html", context, part="cutting", status=status)


@require_POST
@asks(recording_for, Actor.works_with)
def cut(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    table = sorting.table(recording)
    if table is None:
        raise Http404
    form = CutForm(request.POST, table=table)
    clip = _cut(request, recording, form) if form.is_valid() else None
    if clip is None:
        return _table_page(request, table, form)
    copying.ask(clip, at=request.now)
    names = ", ".join(swimmer.name for swimmer in form.cleaned_data["swimmers"])
    said = _("Kept: %(names)s.") % {"names": names}
    return changed(request, recording, said, undo=Undo(made=[clip.code]))


def _cut(request: Request, recording: Recording, form: CutForm) -> Clip | None:
    try:
        return cutting.cut(recording, **form.cleaned_data, by=request.user, at=request.now)
    except cutting.Refused as refused:
        form.add_error(None, str(refused))
        return None


def changed(
    request: Request, recording: Recording, said: str, *, undo: Undo | None = None
) -> HttpResponse:
    """The sorting table after something was done, with how that is taken back."""
    table = sorting.table(recording)
    if request.htmx and table:
        return _table_page(request, table, CutForm(None, table=table), said=said, undo=undo)
    messages.success(request, said)
    return redirect("recordings:sorting", recording.code)


@require_POST
@asks(clip_for, Actor.works_with)
def remove_clip(request: Request, code: UUID) -> HttpResponse:
    clip = clip_for(request.actor, code)
    must(request.actor.works_with(clip.recording.session.squad))
    try:
        cutting.remove(clip, by=request.user, at=request.now)
    except cutting.Refused as refused:
        return changed(request, clip.recording, str(refused))
    undo = Undo(removed=[clip.code])
    return changed(request, clip.recording, _("The clip is removed."), undo=undo)
