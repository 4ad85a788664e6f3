"""A view that does not say who may see it stops the start, by whichever door."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from uuid import UUID

import pytest
from django.contrib.auth.decorators import login_not_required
from django.core.checks import run_checks
from django.core.management.base import SystemCheckError
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import get_resolver, path
from django.views.decorators.http import require_safe

from portal.kit import checks
from portal.kit.checks import refuse_faults, views_declare_access
from portal.kit.declaring import asks, open_to_all, signed_in
from portal.people.access import Actor
from portal.people.admitting import staff_only
from portal.people.http import Request
from portal.recordings.access import session_for
from portal.urls import urlpatterns as product
from tests.house import ROOT

CODE = UUID(int=0)


def silent(request: HttpRequest) -> HttpResponse:
    return HttpResponse("silent")


@login_not_required
def ajar(request: HttpRequest) -> HttpResponse:
    return HttpResponse("ajar")


@signed_in
@login_not_required
def doubtful(request: HttpRequest) -> HttpResponse:
    return HttpResponse("doubtful")


@asks(session_for)
def boastful(request: HttpRequest) -> HttpResponse:
    return HttpResponse("boastful")


@require_safe
@asks(session_for, Actor.leads)
def honest(request: Request) -> HttpResponse:
    return HttpResponse([request.actor.leads(session_for(request.actor, CODE).squad)])


@open_to_all
def door(request: HttpRequest) -> HttpResponse:
    return HttpResponse("door")


@staff_only
def office(request: HttpRequest) -> HttpResponse:
    return HttpResponse("office")


def planted(settings, *views) -> list[tuple[str | None, str]]:
    """What the check says of the product with these views beside it."""
    places = [path(f"{view.__name__}/", view, name=view.__name__) for view in views]
    settings.ROOT_URLCONF = (*product, *places)
    return [(fault.id, fault.msg) for fault in views_declare_access()]


def test_it_works():
    assert [fault for fault in run_checks() if fault.is_serious()] == []
    assert len(list(checks.views(get_resolver().url_patterns))) > 30


def test_honest_views_pass(settings):
    assert planted(settings, honest, door, office) == []


@pytest.mark.parametrize(
    ("view", "fault", "said"),
    [
        (silent, "kit.E001", "'silent' does not say who may see it"),
        (ajar, "kit.E001", "'ajar' does not say who may see it"),
        (doubtful, "kit.E002", "'doubtful' is declared 'signed in', but strangers are let in"),
        (boastful, "kit.E003", "'boastful' declares 'session_for' and never asks it"),
    ],
)
def test_others_stop_the_start(settings, view, fault: str, said: str):
    [(found, words)] = planted(settings, view)

    assert found == fault
    assert said in words
    with pytest.raises(SystemCheckError, match=said):
        refuse_faults()


def test_a_library_answers_for_itself(settings, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(silent, "__module__", "allauth.account.views")

    assert planted(settings, silent) == []


def test_declared_names_stand_on_the_view():
    assert honest.access == ("session_for", "leads")  # type: ignore[attr-defined]
    assert office.access == ("staff only",)  # type: ignore[attr-defined]


def test_nothing_but_the_product_has_an_address():
    """No page of Django's own that edits every table."""
    assert {
        view.__module__.split(".")[0] for _, view in checks.views(get_resolver().url_patterns)
    } <= {
        "portal",
        "allauth",
    }


PLANT = """
import portal.urls
from django.urls import path
portal.urls.urlpatterns.append(path("silent/", lambda request: None, name="silent"))
"""

COMMAND = "import django.core.management as m; (lambda w: m.execute_from_command_line(['x', *w]))"


@pytest.mark.parametrize(
    "program",
    [
        f"{COMMAND}('serve --port 0'.split())",
        f"{COMMAND}('runserver --noreload 0'.split())",
        "import portal.wsgi",
    ],
    ids=["serve", "runserver", "wsgi"],
)
def test_no_server_starts_with_one(tmp_path: Path, program: str):
    """Planted before the server looks, as a file of the product would have it."""
    run = subprocess.run(
        [sys.executable, "-c", f"import django; django.setup()\n{PLANT}\n{program}"],
        env={
            **os.environ,
            "FLAGLINE_DATA": str(tmp_path),
            "DJANGO_SETTINGS_MODULE": "portal.settings",
        },
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert run.returncode != 0
    assert "(kit.E001)" in run.stderr
    assert not (tmp_path / "portal.sqlite3").exists()


def test_the_office_is_for_staff(cast, settings):
    address = "/swimmers/"
    answers = {}
    for person in (cast.coach, cast.assistant, cast.guardian, cast.stranger):
        client = Client()
        client.force_login(person)
        answers[person.email] = client.get(address).status_code

    assert list(answers.values()) == [200, 200, 404, 404]
