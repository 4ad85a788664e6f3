"""The clip beside the one on the bench. The view begins with who may see both."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_safe

from portal.kit.declaring import asks
from portal.people.http import Request
from portal.recordings import pacing
from portal.recordings.models import Clip
from portal.review import access, beside, slips
from portal.review.gathering import words_of


@require_safe
@asks(access.clip_for)
def other(request: Request, code: UUID) -> HttpResponse:
    """What comes to a bench after its film: an earlier clip, open items and the filmstrip, each
    empty if there is none. That film was seen is noted when film is sent."""
    clip = access.clip_for(request.actor, code)
    found = beside.last_alike(clip, by=request.actor)
    swimmers, day = list(clip.swimmers.order_by("pk")), clip.recording.session.date
    items = {"beside": beside.open_items(clip, swimmers, on=day)}
    answer = {
        "other": render_to_string("review/_other.html", _context(request, clip, found))
        if found
        else "",
        "items": render_to_string("review/_beside.html", items),
        "strip": _strip(clip) if access.may_see_strip(request.actor, clip) else None,
    }
    return JsonResponse(answer)


def _strip(clip: Clip) -> dict[str, object]:
    """Where its pictures lie in the one that holds them all, for player/strip.js."""
    strip = clip.recording.strip
    wide, high = strip["tile"]
    return {
        "address": reverse("recordings:strip", args=[clip.recording.code]),
        "every": strip["step"],
        "columns": strip["columns"],
        "count": strip["count"],
        "wide": wide,
        "high": high,
    }


def _context(request: Request, clip: Clip, found: beside.Earlier) -> dict[str, object]:
    session = found.clip.recording.session
    has_bench = request.actor.works_with(session.squad)
    return {
        "ratio": pacing.slowed(found.clip.recording) / pacing.slowed(clip.recording),
        "clip": found.clip,
        "copy": found.copy,
        "session": session,
        "words": words_of(found.clip),
        "address": slips.bench_of(found.clip) if has_bench else "",
        "align": found.align,
        "frame": found.align[1] if found.align else None,
    }
