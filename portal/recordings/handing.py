"""Handing out film and pictures, a stretch at a time. Each begins with who may see them."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponseBase, JsonResponse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from portal.audit.noting import note_look
from portal.kit.declaring import asks
from portal.kit.storage import poster_name, strip_name
from portal.people.http import Request
from portal.recordings import serving, timing
from portal.recordings.access import copy_for, picture_for
from portal.recordings.models import Recording


@require_safe
@asks(copy_for)
def film(request: Request, code: UUID) -> HttpResponseBase:
    copy = copy_for(request.actor, code)
    if request.method == "GET":
        note_look(copy, at=request.now, by=request.user, club=copy.recording.session.squad.club)
    return serving.send(request, copy.file, content_type="video/mp4", etag=copy.sha256)


@require_safe
@asks(copy_for)
def times(request: Request, code: UUID) -> HttpResponseBase:
    copy = copy_for(request.actor, code)
    ticks = copy.times
    answer = JsonResponse(
        {
            "timescale": copy.timescale,
            "first_frame": copy.first_frame,
            "start": ticks[0],
            "steps": timing.steps(ticks),
        }
    )
    answer.headers["ETag"] = etag = f'"{copy.sha256}-times"'
    answer.headers["Cache-Control"] = "private, no-cache"
    return get_conditional_response(request, etag=etag, response=answer) or answer


@require_safe
@asks(picture_for)
def strip(request: Request, code: UUID) -> HttpResponseBase:
    recording = picture_for(request.actor, code)
    _saw(request, recording)
    return serving.send(request, strip_name(recording.code), content_type="image/jpeg")


@require_safe
@asks(picture_for)
def poster(request: Request, code: UUID) -> HttpResponseBase:
    recording = picture_for(request.actor, code)
    _saw(request, recording)
    return serving.send(request, poster_name(recording.code), content_type="image/jpeg")


def _saw(request: Request, seen: Recording) -> None:
    note_look(seen, at=request.now, by=request.user, club=seen.session.squad.club)
