"""Comments as files to carry away. Each view begins with who may see it."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit.declaring import asks
from portal.people.http import Request
from portal.review import captioning
from portal.review.exporting import Export, export_for
from portal.review.telling import page_address


@require_safe
@asks(export_for)
def vtt(request: Request, code: UUID) -> HttpResponse:
    """Captions that any player can show beside the film"""
    export = export_for(request.actor, code)
    text = captioning.as_vtt(export.captions, title=export.title, seconds=export.seconds)
    return _file(request, export, text, content_type="text/vtt; charset=utf-8", ending="vtt")


@require_safe
@asks(export_for)
def linked(request: Request, code: UUID) -> HttpResponse:
    """Web Annotations in JSON-LD"""
    export = export_for(request.actor, code)
    text = captioning.as_annotations(
        export.captions,
        address=page_address("review:annotations", code),
        source=export.clip.code,
        title=export.title,
        language=get_language() or "en",
    )
    content_type = 'application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"'
    return _file(request, export, text, content_type=content_type, ending="jsonld")


def _file(
    request: Request, export: Export, text: str, *, content_type: str, ending: str
) -> HttpResponse:
    club = export.clip.recording.session.squad.club
    note(Entry.Action.SAW, export.clip, at=request.now, by=request.user, club=club, export=ending)
    name = f"{export.clip.recording.session.date:%Y-%m-%d}-comments.{ending}"
    response = HttpResponse(text, content_type=content_type)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
