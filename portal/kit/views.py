"""One question a supervisor may ask."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from portal.kit.declaring import open_to_all


@require_safe
@open_to_all
def health(_request: HttpRequest) -> HttpResponse:
    """The web server answers; says nothing of the club."""
    return HttpResponse("ok", content_type="text/plain")
