"""The addresses of the browser tests and the limit of every page: one that only says ok."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import path

from portal.kit.declaring import signed_in
from portal.people.http import Request
from tests.browser import pages


@signed_in
def bare(request: Request) -> HttpResponse:
    """Behind the same middleware, to somebody signed in."""
    return HttpResponse("ok")


urlpatterns = [*pages.urlpatterns, path("bare/", bare, name="bare")]
