"""Where somebody wanted to go when the door stood in between."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme


def wanted(request: HttpRequest) -> str:
    return onward(request.POST.get("next", request.GET.get("next", "")))


def onward(wanted: str) -> str:
    """A page of ours; otherwise nothing."""
    is_path = wanted.startswith("/") and wanted.isprintable()
    is_ours = is_path and url_has_allowed_host_and_scheme(wanted, allowed_hosts=None)
    return wanted if is_ours else ""


def towards(name: str, *, onward: str) -> str:
    """The address of one of the door's pages, from which it goes on to another."""
    return f"{reverse(name)}?{urlencode({'next': onward or '/'})}"
