"""One question a supervisor may ask."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe


@require_safe
@login_not_required
def health(_request: HttpRequest) -> HttpResponse:
    """The web server answers; says nothing of the club."""
    return HttpResponse("ok", content_type="text/plain")
