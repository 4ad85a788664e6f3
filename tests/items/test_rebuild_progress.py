from __future__ import annotations

from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import call_command

from portal.items import jobs, rebuilding
from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.observing import observe
from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from portal.technique.models import Checkpoint, Fault
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


def test_what_was_said_of_a_merged_fault_counts_for_the_other(cast: Cast):
    old, new = fault("old"), fault("new")
    observe(uuid4(), [said(cast, session(cast, days_ago=7), old)])
    observe(uuid4(), [said(cast, session(cast, days_ago=1), new)])
    before = list(Observation.objects.order_by("pk").values())
    Fault.objects.filter(pk=old.pk).update(merged_into=new, is_retired=True)
    assert rebuilding.differences() == 2

    enqueue("items.follow", key="follow", payload={}, at=NOW)
    jobs.follow(Job.objects.get(), NOW)

    summary = ItemSummary.objects.get()
    assert (summary.fault, summary.checkpoint, summary.looks) == (new, new.checkpoint, 2)
    assert list(Observation.objects.order_by("pk").values()) == before
    assert rebuilding.differences() == rebuilding.follow_merges() == 0


def test_praise_of_a_merged_checkpoint_counts_for_the_faults_of_the_other(cast: Cast):
    old, new = fault("old"), fault("new")
    observe(uuid4(), [said(cast, session(cast, days_ago=7), new)])
    Checkpoint.objects.filter(pk=old.checkpoint_id).update(merged_into=new.checkpoint)
    Fault.objects.filter(pk=old.pk).update(merged_into=new)

    observe(uuid4(), [said(cast, session(cast), old, Verdict.GOOD)])

    assert (ItemSummary.objects.get().looks, ItemSummary.objects.get().clean_run) == (2, 1)
    assert rebuilding.differences() == 0


def test_a_pointer_taken_away_is_put_right_at_night(cast: Cast):
    old, new = fault("old"), fault("new")
    observe(uuid4(), [said(cast, session(cast), old)])
    Fault.objects.filter(pk=old.pk).update(merged_into=new)
    rebuilding.follow_merges()
    Fault.objects.filter(pk=old.pk).update(merged_into=None)

    assert rebuilding.rebuild() == 2

    assert ItemSummary.objects.get().fault == old
