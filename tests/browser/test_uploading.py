"""Bringing films in through the page, until the sorting table is offered."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Dialog, Page, expect

from portal.jobs import running
from portal.jobs.models import Job
from portal.recordings.models import Recording
from tests.cast import Cast
from tests.media import film


def session_url(cast: Cast) -> str:
    return reverse("recordings:session", args=[cast.session.code])


def work() -> None:
    """What a worker does, here and now: every job that waits."""
    for job in Job.objects.filter(state=Job.State.QUEUED):
        assert running.run_one(job.code, worker="test", at=timezone.now())


def rows(page: Page):
    return page.locator(".up li")


@pytest.fixture
def takes(tmp_path: Path) -> list[Path]:
    return [film(tmp_path / f"lane {lane}.mp4", frames=60 + lane) for lane in (2, 4)]


def test_it_works(open_page, cast: Cast, takes: list[Path], assert_accessible):
    page = open_page(cast.assistant)
    page.goto(session_url(cast))
    assert_accessible(page)

    page.set_input_files("#film", takes)

    expect(rows(page).locator("[data-state]")).to_have_text(["in, and whole"] * 2)
    expect(page.locator("#takes .take")).to_have_count(2)
    expect(page.locator("#takes")).to_contain_text("Being made ready")
    assert [recording.sha256 for recording in Recording.objects.all()] == [
        hashlib.sha256(take.read_bytes()).hexdigest() for take in takes
    ]
    work()
    expect(page.locator("#takes").get_by_role("link", name="Sort lane 4.mp4")).to_be_visible()
    expect(page.locator("#takes .poster img")).to_have_count(2)
    assert_accessible(page)
    page.get_by_role("link", name="Sort lane 4.mp4").click()
    expect(page.get_by_role("heading", name="Sorting table")).to_be_visible()


def test_without_scripts(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, script=False)
    page.goto(session_url(cast))
    page.set_input_files("#film", takes[0])

    page.get_by_role("button", name="Bring it in").click()

    expect(page.locator(".messages")).to_contain_text("is in, and whole")
    assert Recording.objects.get().size == takes[0].stat().st_size


def test_no_film_is_told_and_the_next_one_goes_on(
    open_page, cast: Cast, takes: list[Path], tmp_path: Path
):
    page = open_page(cast.coach, forgive="422")
    page.goto(session_url(cast))
    notes = tmp_path / "notes.mp4"
    notes.write_text("a shopping list, and a long one at that")

    page.set_input_files("#film", [notes, takes[0]])

    expect(rows(page).locator("[data-state]")).to_have_text(["not taken", "in, and whole"])
    expect(rows(page).first).to_contain_text("This file is not a film.")
    rows(page).first.get_by_role("button", name="Put away").click()
    expect(rows(page)).to_have_count(1)


def test_too_large_is_told_before_a_byte_is_sent(
    open_page, cast: Cast, takes: list[Path], settings
):
    settings.RECORDING_MAX_BYTES = 1000
    page = open_page(cast.coach)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.method))
    page.goto(session_url(cast))

    page.set_input_files("#film", takes[0])

    expect(rows(page)).to_contain_text("at most 1 MB fit")
    assert "POST" not in sent


def test_a_lost_line_is_told_and_tried_again(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, forgive="ERR_INTERNET_DISCONNECTED")
    page.goto(session_url(cast))
    page.context.set_offline(True)

    page.set_input_files("#film", takes[0])

    expect(rows(page).locator("[data-state]")).to_have_text("line lost")
    expect(rows(page)).to_contain_text("it has to be sent again")
    page.context.set_offline(False)
    rows(page).get_by_role("button", name="Try again").click()
    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole")
    assert Recording.objects.count() == 1


def test_cancelling(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, forgive="ERR_")
    page.goto(session_url(cast))
    page.route(re.compile("/upload/$"), lambda _route: None)

    page.set_input_files("#film", takes)

    expect(rows(page).locator("[data-state]").last).to_have_text("waiting its turn")
    rows(page).first.get_by_role("button", name="Cancel").click()
    expect(rows(page).locator("[data-state]").first).to_have_text("cancelled")
    rows(page).last.get_by_role("button", name="Cancel").click()
    expect(rows(page).locator("[data-state]")).to_have_text(["cancelled"] * 2)
    page.unroute_all(behavior="ignoreErrors")
    assert not Recording.objects.exists()


def test_who_was_signed_out_is_told(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach)
    page.goto(session_url(cast))
    page.context.clear_cookies(name="flagline_session")

    page.set_input_files("#film", takes[0])

    expect(rows(page)).to_contain_text("You are signed out by now.")


def test_leaving_asks_only_while_something_is_on_the_way(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, forgive="ERR_")
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", answer)
    page.goto(session_url(cast))
    page.goto(reverse("recordings:sessions"))
    assert asked == []
    page.goto(session_url(cast))
    page.route(re.compile("/upload/$"), lambda _route: None)
    page.set_input_files("#film", takes[0])
    expect(rows(page)).to_have_count(1)

    page.goto(reverse("recordings:sessions"))

    page.unroute_all(behavior="ignoreErrors")
    assert asked == ["beforeunload"]
