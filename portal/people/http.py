"""What every view is handed, and how it answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django_htmx.middleware import HtmxDetails

from portal.people.access import Actor, actor_for
from portal.people.models import User


class Visit(HttpRequest):
    """A request of anybody; only pages with @login_not_required meet strangers."""

    actor: Actor
    htmx: HtmxDetails
    now: datetime
    csp_nonce: str


class Request(Visit):
    """A request of somebody who has signed in."""

    user: User


class ActorMiddleware:
    """One moment and one actor a request; the actor is read when first asked for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: Request) -> HttpResponse:
        request.now = timezone.now()
        request.actor = SimpleLazyObject(lambda: _actor(request))  # type: ignore[assignment]
        return self.get_response(request)


def _actor(request: Request) -> Actor:
    if not request.user.is_authenticated:
        raise Http404
    return actor_for(request.user, at=request.now)


def page(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    part: str = "",
    status: int = 200,
) -> HttpResponse:
    """Render a page, or only its part of that name when htmx asks for it."""
    if part and getattr(request, "htmx", False):
        template = f"{template}#{part}"
    return render(request, template, dict(context or {}), status=status)
