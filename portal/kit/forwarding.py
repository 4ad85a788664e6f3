"""Who asks, when a proxy stands between."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest


def client(request: HttpRequest) -> str:
    """The address at the other end of the line; behind our nginx, the one that nginx saw.

    Without nginx anybody may write the header, so it is not read.
    """
    seen = request.headers.get("X-Forwarded-For", "") if settings.XACCEL else ""
    return seen or str(request.META["REMOTE_ADDR"])
