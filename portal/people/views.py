"""Pages about people. Each begins with who may see it."""

from __future__ import annotations

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from portal.people.http import Request, page


@require_safe
def concern(request: Request) -> HttpResponse:
    """Whom to turn to; not the coaches."""
    return page(request, "people/concern.html", {"actor": request.actor})
