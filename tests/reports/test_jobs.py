from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from portal.jobs import queueing, running
from portal.jobs.models import Job
from portal.reports import asking, gathering, printing
from portal.reports.models import Sheet
from tests.cast import NOW, Cast
from tests.house import ROOT
from tests.reports.conftest import ask


def enqueued(sheet: Sheet) -> Job:
    payload = {"sheet": str(sheet.code)}
    return queueing.enqueue("reports.make_sheet", key=sheet.job_key, payload=payload, at=NOW)


def run(job: Job) -> Job:
    running.run_one(job.code, worker="tests", at=NOW)
    job.refresh_from_db()
    return job


def state(cast: Cast) -> asking.State:
    asked = asking.newest(gathering.content(cast.session, at=NOW))
    assert asked is not None
    return asked.state


@pytest.mark.django_db(transaction=True)
def test_it_works(cast: Cast, out_in_words):
    job = enqueued(ask(cast))
    assert state(cast) == asking.State.WAITING

    assert run(job).state == Job.State.DONE

    assert state(cast) == asking.State.READY


@pytest.mark.django_db(transaction=True)
def test_nothing_out_is_said_and_not_tried_again(cast: Cast):
    job = run(enqueued(ask(cast)))

    assert (job.state, job.attempts) == (Job.State.FAILED, 1)
    assert "nothing to print" in job.problem
    assert state(cast) == asking.State.FAILED


@pytest.mark.django_db(transaction=True)
def test_without_pango_the_page_will_name_the_package(cast: Cast, out_in_words, monkeypatch):
    monkeypatch.setattr(printing, "pressing", None)

    job = run(enqueued(ask(cast)))

    assert (job.state, job.attempts) == (Job.State.FAILED, 1)
    assert "cannot be made on this machine" in job.problem
    assert "apt-get install libpango-1.0-0 libpangoft2-1.0-0" in job.problem


@pytest.mark.django_db(transaction=True)
def test_a_sheet_that_was_let_go_needs_no_paper(cast: Cast, out_in_words):
    job = enqueued(ask(cast))
    Sheet.objects.all().delete()

    assert run(job).state == Job.State.DONE


NO_PANGO = """
import sys

class Missing:
    def find_spec(self, name, path=None, target=None):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")

sys.meta_path.insert(0, Missing())
import django
django.setup()
from django.urls import reverse
import portal.urls
import portal.reports.jobs
from portal.reports import printing
print(reverse("reports:sheet", args=["00000000-0000-0000-0000-000000000000"]))
try:
    printing.to_pdf("<p>x", stills={}, style="css/sheet.css")
except printing.CannotPrint as problem:
    print(problem)
"""


def test_everything_else_works_without_pango(tmp_path: Path):
    """A process of its own, in which loading WeasyPrint fails as it does without the library."""
    environment = {
        **os.environ,
        "FLAGLINE_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        "PYTHONPATH": str(ROOT),
    }

    said = subprocess.run(
        [sys.executable, "-c", NO_PANGO],
        env=environment,
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout

    assert said.startswith("/sessions/00000000-0000-0000-0000-000000000000/sheet/")
    assert "libpango-1.0-0 libpangoft2-1.0-0" in said


def test_the_packages_are_those_that_setting_up_installs():
    assert printing.PACKAGES in (ROOT / "deploy/packages.sh").read_text()
