"""Pages about people. Each begins with who may see it."""

from __future__ import annotations

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from portal.kit.declaring import open_to_all
from portal.people import confiding
from portal.people.http import Visit, page


@open_to_all
@require_safe
def concern(request: Visit) -> HttpResponse:
    """Whom to turn to; never the coaches. Names are for people whom the club knows."""
    if not request.user.is_authenticated:
        return page(request, "people/concern.html")
    officers = confiding.officers_for(request.actor, on=request.now.date())
    return page(request, "people/concern.html", {"officers": officers})
