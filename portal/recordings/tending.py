"""What else is done at the sorting table: passing over a guess, cutting anew, taking back,
and saying that a film is in slow motion."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.kit.declaring import asks
from portal.people.access import Actor, must
from portal.people.http import Request
from portal.recordings import copying, cutting, listing, pacing, passing, recutting
from portal.recordings.access import clip_for, recording_for
from portal.recordings.forms import PaceForm, PassForm, RecutForm, TakeBackForm
from portal.recordings.models import Clip
from portal.recordings.sorting import Undo
from portal.recordings.views import changed


@require_POST
@asks(recording_for, Actor.works_with)
def pass_over(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    form = PassForm(request.POST)
    if not form.is_valid():
        return changed(request, recording, _("There is no guess here to pass over."))
    frame = form.cleaned_data["first_frame"]
    passing.pass_over(recording, first_frame=frame)
    return changed(request, recording, _("Passed over."), undo=Undo(passed_over=frame))


@require_POST
@asks(clip_for, Actor.works_with)
def recut(request: Request, code: UUID) -> HttpResponse:
    clip = clip_for(request.actor, code)
    must(request.actor.works_with(clip.recording.session.squad))
    form = RecutForm(request.POST)
    if not form.is_valid():
        return changed(request, clip.recording, _("Say at which frame."))
    try:
        old, new = _recut(request, clip, **form.cleaned_data)
    except cutting.Refused as refused:
        return changed(request, clip.recording, str(refused))
    for one in new:
        copying.ask(one, at=request.now)
    undo = Undo(made=[one.code for one in new], removed=[one.code for one in old])
    return changed(request, clip.recording, _("The clip is cut anew."), undo=undo)


def _recut(request: Request, clip: Clip, *, act: str, frame: int) -> tuple[list[Clip], list[Clip]]:
    """The clips that went and those that came. Raises Refused."""
    marks = {"first_frame": clip.first_frame, "last_frame": clip.last_frame}
    by, at = request.user, request.now
    match act:
        case "split":
            return [clip], recutting.split(clip, at_frame=frame, by=by, at=at)
        case "begin":
            marks["first_frame"] = frame
        case "end":
            marks["last_frame"] = frame
        case _:
            other = recutting.next_of(clip)
            return [clip, other], recutting.join(clip, other, by=by, at=at)
    return [clip], recutting.move(clip, **marks, by=by, at=at)


@require_POST
@asks(recording_for, Actor.works_with)
def take_back(request: Request, code: UUID) -> HttpResponse:
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    form = TakeBackForm(request.POST, recording=recording)
    if not form.is_valid():
        return changed(request, recording, _("This cannot be taken back any more."))
    made, removed = list(form.cleaned_data["made"]), list(form.cleaned_data["removed"])
    try:
        recutting.take_back(recording, made=made, removed=removed, by=request.user, at=request.now)
    except cutting.Refused as refused:
        return changed(request, recording, str(refused))
    for clip in removed:
        copying.ask_for_returned(clip, at=request.now)
    if (frame := form.cleaned_data["passed_over"]) is not None:
        passing.offer_again(recording, first_frame=frame)
    undo = Undo(made=_codes(removed), removed=_codes(made)) if made or removed else None
    return changed(request, recording, _("Taken back."), undo=undo)


@require_POST
@asks(recording_for, Actor.works_with)
def pace(request: Request, code: UUID) -> HttpResponse:
    """At which rate it was taken: slow motion, or as it plays."""
    recording = recording_for(request.actor, code)
    must(request.actor.works_with(recording.session.squad))
    form = PaceForm(request.POST)
    if not form.is_valid():
        return changed(request, recording, str(form.errors["filmed_rate"][0]))
    pacing.say(recording, **form.cleaned_data, by=request.user, at=request.now)
    return changed(request, recording, _("Kept: %(pace)s.") % {"pace": listing.pace(recording)})


def _codes(clips: Collection[Clip]) -> list[UUID]:
    return [clip.code for clip in clips]
