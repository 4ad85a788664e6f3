"""Where the line ends: a page with a number for people, a few words for scripts."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.conf import settings as product
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path, reverse

from portal.kit.declaring import open_to_all
from portal.urls import handler400, handler403, handler404, handler500  # noqa: F401 - for Django
from portal.urls import urlpatterns as pages
from tests.cast import Cast

HEADERS = {"Sec-Fetch-Dest": "document", "Accept": "text/html"}
NUMBER = re.compile(r"^[0-9]{4}-[0-9]{4}-[0-9]{4}$")


@open_to_all
def breaks(request: HttpRequest) -> HttpResponse:
    raise ValueError("the inner workings")


@open_to_all
def swallows(request: HttpRequest) -> HttpResponse:
    return HttpResponse(request.body[:0])


urlpatterns = [*pages, path("breaks/", breaks), path("swallows/", swallows)]


@pytest.fixture
def browser(cast: Cast, settings) -> Client:
    settings.ROOT_URLCONF = __name__
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    client = Client(enforce_csrf_checks=True, raise_request_exception=False, headers=HEADERS)
    client.force_login(cast.coach)
    return client


def stopped(client: Client, status: int, **headers: str) -> Any:
    """Each end of the line, reached as a browser would."""
    match status:
        case 400:
            return client.get("/", headers={"Host": "elsewhere.example.com", **headers})
        case 403:
            return client.post(reverse("doorway:sign_in"), headers=headers)
        case 404:
            return client.get("/nothing/", headers=headers)
        case 405:
            return client.get(reverse("doorway:sign_out"), headers=headers)
        case 413:
            return client.generic("GET", "/swallows/", b"x" * 2000, headers=headers)
        case _:
            return client.get("/breaks/", headers=headers)


STOPS = [400, 403, 404, 405, 413, 500]


@pytest.mark.parametrize("status", STOPS)
def test_it_works(browser: Client, status: int):
    response = stopped(browser, status)

    number = response.headers["X-Request-ID"]
    said = response.content.decode()
    assert response.status_code == status
    assert NUMBER.match(number)
    assert f'say this number: <span class="nowrap">{number}</span>' in said
    assert "inner workings" not in said
    assert "elsewhere" not in said
    assert response.headers["Cache-Control"] == "private, no-store"
    assert said.count("<h1>") == 1


@pytest.mark.parametrize("status", STOPS)
@pytest.mark.parametrize("headers", [{"Sec-Fetch-Dest": "empty"}, {"HX-Request": "true"}])
def test_scripts_are_told_in_few_words(browser: Client, status: int, headers: dict[str, str]):
    if "HX-Request" in headers:
        headers = {"Sec-Fetch-Dest": "", **headers}

    response = stopped(browser, status, **headers)

    assert response.status_code == status
    assert len(response.content) < 250
    assert response.json()["request"] == response.headers["X-Request-ID"]
    assert response.json()["problem"]


def test_a_wrong_method_is_told_which_are_right(browser: Client):
    assert stopped(browser, 405).headers["Allow"] == "POST"


def test_each_has_its_own_words(browser: Client):
    heads = [re.findall("<h1>(.*)</h1>", stopped(browser, each).content.decode()) for each in STOPS]

    assert len({str(head) for head in heads}) == len(STOPS)


def test_debugging_is_off():
    assert product.DEBUG is False
