"""Addresses for programs: who is not signed in hears so, and is not led to a page to sign in.

A program that follows a redirect takes the sign-in page for its answer, and gives up or begins
anew where it only had to wait for somebody to sign in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from http import HTTPStatus
from typing import Any, TypeVar

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, JsonResponse
from django.http.response import HttpResponseBase
from django.utils.translation import gettext as _

View = TypeVar("View", bound=Callable[..., Any])

BLOCK = 256 * 1024
# A browser reads an answer only after it has sent what it began to send.
DRAIN_BYTES = 16 * 1024 * 1024


def for_programs(always: Mapping[str, str]) -> Callable[[View], View]:
    """`always` are headers that stand on every answer of this address, refusals included."""

    def declare(view: View) -> View:
        view.always = always  # type: ignore[attr-defined]
        return view

    return declare


class KnockingMiddleware(LoginRequiredMiddleware):
    """Closed by default, as the framework's own; only the answer to programs differs."""

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseBase:
        if not hasattr(view_func, "always"):
            return super().handle_no_permission(request, view_func)
        said = _("You are signed out by now. Sign in again, and the upload goes on.")
        return JsonResponse({"problem": said}, status=401)

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        """A refusal, whoever uttered it, is heard only after what is still being sent was read."""
        always = getattr(getattr(request.resolver_match, "func", None), "always", None)
        if always is None:
            return response
        for name, value in always.items():
            response.headers[name] = value
        if response.status_code >= HTTPStatus.BAD_REQUEST:
            _drain(request)
        return response


def _drain(request: HttpRequest) -> None:
    left = DRAIN_BYTES
    try:
        while left > 0 and (block := request.read(min(BLOCK, left))):
            left -= len(block)
    except OSError:
        return
