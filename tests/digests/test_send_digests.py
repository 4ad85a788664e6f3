"""`manage.py send_digests`, which the volunteer types in a shell."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from portal.digests.models import Delivered
from portal.digests.timing import TOO_LATE
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from tests.cast import Cast
from tests.digests.practice import DUE, correction, publish, stored
from tests.mailroom.relay import Relay, relay

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def server() -> Iterator[Relay]:
    with relay() as handler:
        yield handler


@pytest.fixture
def now(monkeypatch):
    """`now(at)` sets the command's clock."""

    def set_to(at) -> None:
        monkeypatch.setattr(timezone, "now", lambda: at)

    set_to(DUE)
    return set_to


def typed(*words: str) -> str:
    said = StringIO()
    call_command("send_digests", *words, stdout=said)
    return said.getvalue()


def test_it_works(cast: Cast, server: Relay, now):
    publish(cast)
    said = typed()
    assert "a***@example.org  Ines at the pool, 16 to 22 November  text " in said
    assert "Written: 2. Sent: 2." in said
    assert len(server.taken) == 2


def test_twice_sends_nothing_twice(cast: Cast, server: Relay, now):
    publish(cast)
    typed()
    assert "Written: 0. Sent: 0." in typed()
    assert "Written: 0. Sent: 0." in typed("--week", "2026-W47")
    assert len(server.taken) == 2


def test_a_dry_run_says_who_would_get_what_and_keeps_nothing(cast: Cast, server: Relay, now):
    publish(cast)
    jobs = Job.objects.count()
    said = typed("--dry-run")
    assert said.count("@example.org  Ines at the pool, 16 to 22 November  text ") == 2
    assert "Would be sent: 2." in said
    assert stored() == []
    assert Delivered.objects.count() == 0
    assert Job.objects.count() == jobs
    assert server.taken == []
    typed()
    assert len(server.taken) == 2


def test_a_dry_run_shows_nothing_of_what_was_said_nor_an_address(cast: Cast, now):
    publish(cast, correction("Quite private."))
    for said in (typed("--dry-run"), typed("--dry-run", "--week", "2026-W47")):
        for word in ("private", cast.guardian.email, "Ada", "Falk", "Patient line"):
            assert word not in said


def test_the_text_is_shown_in_the_demo_alone(cast: Cast, now, settings):
    publish(cast)
    with pytest.raises(CommandError, match="in the demo, with --dry-run"):
        typed("--dry-run", "--text")
    settings.DEMO = True
    assert "Heels right up" in typed("--dry-run", "--text")
    with pytest.raises(CommandError, match="in the demo, with --dry-run"):
        typed("--text")


def test_a_dry_run_before_the_hour_shows_what_there_is_so_far(cast: Cast, now):
    publish(cast)
    now(DUE - timedelta(days=1))
    assert "Would be sent: 0." in typed("--dry-run")
    assert "Would be sent: 2." in typed("--dry-run", "--week", "2026-W47")


def test_nothing_is_sent_before_its_hour(cast: Cast, server: Relay, now):
    publish(cast)
    now(DUE - timedelta(minutes=1))
    said = typed("--week", "2026-W47")
    assert "Otterbrook: 2026-W47 is due at 2026-11-22 18:00 UTC" in said
    assert stored() == []


def test_a_named_week_goes_also_when_it_is_late(cast: Cast, server: Relay, now):
    publish(cast)
    now(DUE + TOO_LATE + timedelta(hours=1))
    assert "Written: 0." in typed()
    assert "Written: 2. Sent: 2." in typed("--week", "2026-W47")


def test_without_a_server_the_worker_tries_again(cast: Cast, server: Relay, now):
    publish(cast)
    server.at_recipient = "451 later, {address}"
    said = typed()
    assert "Written: 2. Sent: 0.\nThose that are due are tried again by the worker." in said
    assert {mail.state for mail in stored()} == {OutgoingMail.State.DUE}
    assert Job.objects.filter(kind="digests.send", state=Job.State.QUEUED).count() == 2


@pytest.mark.parametrize("week", ["2026-W60", "next", "2025-W53"])
def test_no_week_is_said_to_be_none(db, week: str):
    with pytest.raises(CommandError, match=f"'{week}'.*(W01 to W52|as in 2026-W47)"):
        typed("--week", week)
