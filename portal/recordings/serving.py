"""Sending film and pictures a stretch at a time, so that a player can jump in them.

Whoever calls has asked `access` first: nothing that is kept has an address of its own. What lies
in a bucket passes through the portal, so that a withdrawn leave holds there at once as well.
Behind nginx the portal still decides and says all that stands in the head; nginx then reads the
file (deploy/nginx.conf takes our tag over, so that If-Range holds there too).
"""

from __future__ import annotations

from urllib.parse import quote

from django.conf import settings
from django.db.models.fields.files import FieldFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils.cache import patch_vary_headers
from django.utils.http import parse_etags

from portal.kit import ranges, storage
from portal.kit.csp import MEDIA_POLICY

BLOCK = 128 * 1024


def send(
    request: HttpRequest, file: FieldFile | str, *, content_type: str, etag: str = ""
) -> HttpResponseBase:
    """The file kept under this name, the part of it that was asked for, or word that the
    browser's own still holds.

    `etag` names these very bytes, without quotes; a picture that is replaced as a whole may
    leave it out. 404 when the file is gone.
    """
    name = str(file)
    try:
        size = storage.size_of(name)
        tag = f'"{etag or f"{storage.changed_at(name).timestamp():.6f}-{size:x}"}"'
    except FileNotFoundError as error:
        raise Http404 from error
    if _is_another(request.headers.get("If-Match"), tag):
        response: HttpResponseBase = HttpResponse(status=412)
    elif _is_held(request.headers.get("If-None-Match", ""), tag):
        response = HttpResponse(status=304)
    elif settings.XACCEL and storage.is_here():
        response = _handed_on(name)
    else:
        response = _part(request, name, size, tag)
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers["X-Content-Type-Options"] = "nosniff"
    # Browsers show no PDF in a sandbox.
    if not content_type.endswith("pdf"):
        response.headers["Content-Security-Policy"] = MEDIA_POLICY
    patch_vary_headers(response, ["Cookie"])
    if response.status_code in (200, 206):
        response.headers["Content-Type"] = content_type
        response.headers["Content-Disposition"] = "inline"
    return response


def _handed_on(name: str) -> HttpResponse:
    """To nginx, which minds the range."""
    response = HttpResponse()
    response.headers["X-Accel-Redirect"] = f"{settings.XACCEL.rstrip('/')}/{quote(name)}"
    return response


def _part(request: HttpRequest, name: str, size: int, tag: str) -> HttpResponseBase:
    try:
        span = ranges.span(_range(request, tag), size)
    except ranges.Unsatisfiable:
        refusal = HttpResponse(status=416, headers={"Accept-Ranges": ranges.UNIT})
        refusal.headers["Content-Range"] = f"{ranges.UNIT} */{size}"
        return refusal
    first, length = (span.first, span.length) if span else (0, size)
    response: HttpResponseBase
    if request.method == "HEAD":
        response = HttpResponse()
    else:
        response = StreamingHttpResponse(storage.stretch(name, first, length, block=BLOCK))
    response.headers["Accept-Ranges"] = ranges.UNIT
    response.headers["Content-Length"] = str(length)
    if span:
        response.status_code = 206
        response.headers["Content-Range"] = span.content_range
    return response


def _is_another(if_match: str | None, tag: str) -> bool:
    """Weak tags never match here. Of whoever asks for nothing it is not."""
    return if_match is not None and not {tag, "*"} & set(parse_etags(if_match))


def _is_held(if_none_match: str, tag: str) -> bool:
    """Here, unlike for If-Range, a weak tag of the same name is good enough."""
    held = {each.removeprefix("W/") for each in parse_etags(if_none_match)}
    return tag in held or "*" in held


def _range(request: HttpRequest, tag: str) -> str | None:
    """The range asked for, unless it is meant for other bytes. Only GET has ranges.

    A date never matches: copies carry no Last-Modified.
    """
    condition = request.headers.get("If-Range")
    if request.method != "GET" or condition not in (None, tag):
        return None
    return request.headers.get("Range")
