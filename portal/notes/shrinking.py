"""The still of a moment at the size of a phone: six of them and the letters weigh less than a
single second of film. Made anew for each that asks, so that no second file has to be deleted."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_vary_headers
from PIL import Image

from portal.kit import storage
from portal.kit.csp import MEDIA_POLICY

WIDTH, HEIGHT = 640, 360
QUALITY = 66
BLOCK = 64 * 1024


def send(request: HttpRequest, name: str) -> HttpResponseBase:
    """Whoever calls has asked the rule. The browser's own copy does while it is the same."""
    tag = f'"{Path(name).stem}-{WIDTH}"'
    held = get_conditional_response(request, etag=tag)
    response = held or HttpResponse(_small(name), content_type="image/jpeg")
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Content-Security-Policy"] = MEDIA_POLICY
    patch_vary_headers(response, ["Cookie"])
    return response


def _small(name: str) -> bytes:
    try:
        size = storage.size_of(name)
        whole = b"".join(storage.stretch(name, 0, size, block=BLOCK))
    except FileNotFoundError as error:
        raise Http404 from error
    with Image.open(BytesIO(whole)) as picture:
        picture.thumbnail((WIDTH, HEIGHT), Image.Resampling.LANCZOS)
        out = BytesIO()
        picture.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return out.getvalue()
