"""What needs more than an open session: a sign-in of the last quarter of an hour."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from urllib.parse import urlencode, urlsplit

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from portal.people.http import Request, Visit

KEY = "signed in at"
FRESH = timedelta(minutes=15)


def mark(request: HttpRequest, *, at: datetime) -> None:
    request.session[KEY] = at.timestamp()


def is_recent(request: HttpRequest, *, at: datetime) -> bool:
    signed_in: float = request.session.get(KEY, 0)
    return at.timestamp() - signed_in < FRESH.total_seconds()


class LongAgo(Exception):
    """Whoever asks is known and may, but signed in too long ago."""


def must_be_recent(request: Request) -> None:
    """For roles, the policy on film, export and erasure, and the ways to sign in; raises LongAgo.

    Ask it once the rule has let somebody in: others are told no more than on any page. What was
    typed into a form by then has to be typed again, so ask it of the page with the form as well.
    """
    if not is_recent(request, at=request.now):
        raise LongAgo


class RecentMiddleware:
    """Whoever signed in too long ago is asked to do so once more, and comes back to the page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: Visit, exception: Exception) -> HttpResponseBase | None:
        if not isinstance(exception, LongAgo):
            return None
        return redirect(f"{reverse('doorway:again')}?{urlencode({'next': page_of(request)})}")


def page_of(request: Visit) -> str:
    """Where to come back to: an address that only takes forms is no page, so the one with the
    button on it."""
    if request.method in ("GET", "HEAD"):
        return request.get_full_path()
    return urlsplit(request.headers.get("Referer", "")).path or reverse("home")
