"""What needs more than an open session: a sign-in of the last quarter of an hour."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from typing import Concatenate, ParamSpec
from urllib.parse import urlencode, urlsplit

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from portal.people.http import Request, Visit

KEY = "signed in at"
FRESH = timedelta(minutes=15)

Rest = ParamSpec("Rest")
View = Callable[Concatenate[Request, Rest], HttpResponseBase]


def mark(request: HttpRequest, *, at: datetime) -> None:
    request.session[KEY] = at.timestamp()


def is_recent(request: HttpRequest, *, at: datetime) -> bool:
    signed_in: float = request.session.get(KEY, 0)
    return at.timestamp() - signed_in < FRESH.total_seconds()


def fresh(view: View[Rest]) -> View[Rest]:
    """Whoever signed in longer ago is asked to do so once more, and comes back to the page.

    For roles, the policy on film, export and erasure, and the ways to sign in. What was typed
    into a form by then has to be typed again, so put it on the page with the form as well.
    """

    @wraps(view)
    def answer(request: Request, /, *args: Rest.args, **values: Rest.kwargs) -> HttpResponseBase:
        if not is_recent(request, at=request.now):
            return redirect(f"{reverse('doorway:again')}?{urlencode({'next': page_of(request)})}")
        return view(request, *args, **values)

    return answer


def page_of(request: Visit) -> str:
    """Where to come back to: an address that only takes forms is no page, so the one with the
    button on it."""
    if request.method in ("GET", "HEAD"):
        return request.get_full_path()
    return urlsplit(request.headers.get("Referer", "")).path or reverse("home")
