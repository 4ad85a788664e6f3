"""What makes a phone keep the notes: the list of what it may keep, the worker that shows it
without a signal, and how the portal lies on a home screen."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.http import HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from portal.kit.declaring import open_to_all, signed_in
from portal.notes import handing, shelving
from portal.people.http import Request, Visit, page

WORKER = "js/notes/worker.js"
SIZES = (192, 512)
# Of the paper in tokens.css: a manifest knows no custom properties.
PAPER = "#f4f1e8"


@require_safe
@signed_in
def shelf(request: Request) -> JsonResponse:
    """What this phone may keep today; whatever else it kept is to go"""
    kept = shelving.shelf(request.actor, holder=handing.holder(request))
    return JsonResponse(
        {"pages": kept.pages, "stills": kept.stills, "stamp": kept.stamp, "days": shelving.DAYS}
    )


@require_safe
@signed_in
def not_kept(request: Request) -> HttpResponse:
    """Kept itself, and shown without a signal in the place of what is not"""
    return page(request, "notes/not_kept.html")


@require_safe
@open_to_all
def worker(_request: Visit) -> HttpResponse:
    """The service worker, under the address that is its reach. It holds nothing of anybody."""
    script = Path(settings.BASE_DIR, "static", WORKER).read_text()
    return HttpResponse(script, content_type="text/javascript; charset=utf-8")


@require_safe
@open_to_all
def manifest(_request: Visit) -> JsonResponse:
    icons = [
        {
            "src": static(f"icons/flagline-{size}.png"),
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": "any maskable",
        }
        for size in SIZES
    ]
    told = {
        "name": _("Flagline: swimming notes"),
        "short_name": "Flagline",
        "id": reverse("notes:home"),
        "start_url": reverse("notes:home"),
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": icons,
    }
    return JsonResponse(told, content_type="application/manifest+json")
