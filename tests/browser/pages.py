"""The product's addresses and one more: a bare page with the player and all that belongs to it."""

from __future__ import annotations

from pathlib import Path
from uuid import UUID

from django.http import HttpResponse
from django.template import engines
from django.urls import path

from portal.kit.declaring import asks
from portal.people.http import Request
from portal.recordings.access import copy_for
from portal.urls import urlpatterns as product

PAGE = Path(__file__).parent / "player_page.html"

# The tests hang their comments here.
pennants: list[dict[str, object]] = []
KEY_WORDS = [{"keys": ["←", "→"], "says": "one frame"}, {"keys": ["space"], "says": "play"}]


@asks(copy_for)
def player(request: Request, code: UUID) -> HttpResponse:
    copy = copy_for(request.actor, code)
    end = copy.first_frame + copy.frame_count - 1
    context = {
        "copy": copy,
        "first": int(request.GET.get("first", copy.first_frame)),
        "last": int(request.GET.get("last", end)),
        "frame": int(request.GET["frame"]) if "frame" in request.GET else None,
        "pennants": pennants,
        "key_words": KEY_WORDS,
    }
    template = engines["django"].from_string(PAGE.read_text())
    return HttpResponse(template.render(context, request))


urlpatterns = [*product, path("player/<uuid:code>/", player, name="player")]
