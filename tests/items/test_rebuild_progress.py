from __future__ import annotations

from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import call_command

from portal.items import jobs
from portal.items.models import ItemSummary
from portal.items.observing import observe
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.cast import NOW, Cast
from tests.items.seen import fault, said, session, summaries


@pytest.fixture
def published(cast: Cast) -> set[tuple[object, ...]]:
    observe(uuid4(), [said(cast, session(cast), fault("early"))])
    return summaries()


def run(*words: str) -> str:
    out = StringIO()
    call_command("rebuild_progress", *words, stdout=out)
    return out.getvalue()


def test_it_works(published):
    ItemSummary.objects.all().delete()

    assert run() == "1 put right.\n"

    assert summaries() == published


def test_what_is_right_stays_as_it_is(published):
    keys = list(ItemSummary.objects.values_list("pk"))

    assert run() == "0 put right.\n"
    assert run("--check") == "0 are wrong.\n"

    assert list(ItemSummary.objects.values_list("pk")) == keys


def test_a_check_finds_what_is_wrong_and_changes_nothing(published):
    ItemSummary.objects.update(looks=7)

    with pytest.raises(SystemExit) as stopped:
        run("--check")

    assert stopped.value.code == 1
    assert ItemSummary.objects.get().looks == 7


def test_the_nightly_job_puts_right_and_says_so(published, caplog):
    ItemSummary.objects.update(state="fixed")
    enqueue("items.rebuild", key="night", payload={}, at=NOW)

    jobs.rebuild(Job.objects.get(), NOW)

    assert summaries() == published
    assert "progress put right" in caplog.text


def test_a_quiet_night_says_nothing(published, caplog):
    enqueue("items.rebuild", key="night", payload={}, at=NOW)

    jobs.rebuild(Job.objects.get(), NOW)

    assert not caplog.text
