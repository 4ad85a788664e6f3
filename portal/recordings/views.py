"""What becomes of a recording, and the sorting table. Each begins with who may see it."""

from __future__ import annotations

from contextlib import suppress
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from portal.jobs import queueing
from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.http import Request, page
from portal.recordings import (
    copying,
    cutting,
    listing,
    pacing,
    receiving,
    recutting,
    showing,
    shutting,
    sorting,
    throwing,
)
from portal.recordings.access import clip_for, recording_for
from portal.recordings.forms import CutForm
from portal.recordings.models import Clip, Recording
from portal.recordings.sorting import Undo

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
    (["Q"], gettext_lazy("next equipment")),
    (["Enter"], gettext_lazy("keep, then the next swimmer")),
    (["G"], gettext_lazy("the next guess from motion")),
    (["⌫"], gettext_lazy("nothing to see in this guess")),
    (["Home", "End"], gettext_lazy("go to the in mark or the out mark")),
    (["C"], gettext_lazy("cut the kept clip anew: another swimmer, stroke or stretch")),
    (["X"], gettext_lazy("split the kept clip, the second half begins with this frame")),
    (["[", "]"], gettext_lazy("the kept clip begins or ends with this frame instead")),
    (["M"], gettext_lazy("join the kept clip with the next one")),
    (["Del"], gettext_lazy("remove the kept clip, after a question that Enter answers")),
    (["Z"], gettext_lazy("take back what was just done")),
    (["?"], gettext_lazy("this list")),
]


@require_safe
@asks(recording_for)
def state(request: Request, code: UUID) -> HttpResponse:
    """How far a recording is, asked for again and again by the session's page."""
    recording = recording_for(request.actor, code)
    if not request.htmx:
        return redirect("recordings:session", recording.session.code)
    rows = recording.session.recordings.kept().select_related("filmed_by")
    takes = listing.takes(rows, at=request.now)
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
        receiving.ask_to_prepare(take.recording, at=request.now)
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
    asked = request.GET.get("again")
    again = next((one for one in table.stretches if str(one.clip.code) == asked), None)
    return _table_page(request, table, CutForm(None, table=table, again=again))


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
        "guesses": table.guesses(),
        "doubt": pacing.doubt(table.recording),
        "slowed": pacing.slowed(table.recording) if pacing.is_slowed(table.recording) else None,
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
    old = form.cleaned_data["instead_of"]
    undo = Undo(made=[clip.code], removed=[old.code] if old else [])
    return changed(request, recording, said, undo=undo)


def _cut(request: Request, recording: Recording, form: CutForm) -> Clip | None:
    said = {name: form.cleaned_data[name] for name in form.said}
    by, at = request.user, request.now
    try:
        if old := form.cleaned_data["instead_of"]:
            return recutting.anew(old, **said, by=by, at=at)
        return cutting.cut(recording, **said, by=by, at=at)
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
