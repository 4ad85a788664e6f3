"""Content security policy: nothing inline, nothing from elsewhere."""

from __future__ import annotations

import secrets
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self' 'nonce-{nonce}'",
        "style-src 'self'",
        "font-src 'self'",
        "img-src 'self' data: blob:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)


# Film and pictures, opened by themselves: no origin, no script, whatever stands in the file.
MEDIA_POLICY = "default-src 'none'; frame-ancestors 'none'; sandbox"
# What no page of the portal uses; talking over a film will want the microphone.
PERMISSIONS = ", ".join(
    [
        *(f"{each}=()" for each in ("camera", "display-capture", "geolocation", "midi", "payment")),
        *(f"{each}=()" for each in ("accelerometer", "gyroscope", "magnetometer", "usb")),
        "microphone=(self)",
    ]
)


class ContentSecurityPolicyMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.csp_nonce = secrets.token_urlsafe(16)  # type: ignore[attr-defined]
        response = self.get_response(request)
        response.headers.setdefault(
            "Content-Security-Policy",
            POLICY.format(nonce=request.csp_nonce),  # type: ignore[attr-defined]
        )
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Permissions-Policy"] = PERMISSIONS
        response.headers.setdefault("Cache-Control", "private, no-store")
        response.headers["X-Robots-Tag"] = "noindex"
        return response


def nonce(request: HttpRequest) -> dict[str, str]:
    """For templates; django-htmx's script tag reads the same name."""
    return {"csp_nonce": getattr(request, "csp_nonce", "")}
