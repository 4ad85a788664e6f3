"""Bringing films in through the page, until the sorting table is offered."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Dialog, Page, Route, expect

from portal.jobs import running
from portal.jobs.models import Job
from portal.people.models import Club
from portal.recordings import parting, rooming
from portal.recordings.models import Arrival, Recording
from tests.browser.conftest import Shot
from tests.cast import Cast
from tests.media import film
from tests.recordings import filmed

ARRIVALS = re.compile("/arrivals/")
PIECE = 8 * 1024 * 1024


def session_url(cast: Cast) -> str:
    return reverse("recordings:session", args=[cast.session.code])


def work() -> None:
    """What a worker does, here and now: every job that waits."""
    for job in Job.objects.filter(state=Job.State.QUEUED):
        assert running.run_one(job.code, worker="test", at=timezone.now())


def rows(page: Page):
    return page.locator(".up li")


def stalls(route: Route) -> None:
    """A line over which a film never comes through; everything else does."""
    if route.request.method != "PATCH":
        route.continue_()


def stalls_after_the_first_piece(route: Route) -> None:
    if route.request.headers.get("upload-offset") in (None, "0"):
        route.continue_()


def offset_on_the_disk() -> int:
    return sum(path.stat().st_size for path in parting.all_parts())


def eventually(page: Page, is_so: Callable[[], object]) -> None:
    for _ in range(200):
        if is_so():
            return
        page.wait_for_timeout(50)
    raise AssertionError("not so within 10 s")


def sums() -> list[str]:
    return list(Recording.objects.order_by("pk").values_list("sha256", flat=True))


@pytest.fixture
def large(tmp_path: Path) -> list[Path]:
    """Three films of two pieces each; what is in them does not matter here."""
    paths = [tmp_path / f"lane {lane}.mp4" for lane in (1, 2, 3)]
    for path in paths:
        path.write_bytes(b"\x00\x00\x00\x18ftypmp42" + os.urandom(PIECE + 100_000))
    return paths


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


def test_what_will_not_fit_is_told_before_a_byte_is_sent(
    open_page, cast: Cast, takes: list[Path], tmp_path: Path, settings
):
    page = open_page(cast.coach)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.method))
    photo = tmp_path / "lane 4.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0")
    taken = rooming.GIGABYTE - takes[0].stat().st_size
    filmed.recording(cast, size=taken)
    for limit, gigabytes in ((1000, 200), (10**9, 1)):
        settings.RECORDING_MAX_BYTES = limit
        Club.objects.update(film_gigabytes=gigabytes)
        page.goto(session_url(cast))
        page.set_input_files("#film", [takes[0], photo] if limit == 1000 else [takes[1]])
        why = "at most 1 MB fit" if limit == 1000 else "there is room for 0 MB more"
        expect(rows(page).first).to_contain_text(why)
    assert "POST" not in sent
    page.goto(session_url(cast))
    page.set_input_files("#film", photo)
    expect(rows(page)).to_contain_text("This file is not a film.")
    assert "POST" not in sent


# What a telephone does when it is asked to stay awake, and how often it was.
TELL_OF_LOCKS = """
  window.locks = { asked: 0, held: 0 };
  Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
    window.locks.asked += 1;
    window.locks.held += 1;
    return { addEventListener() {}, release() { window.locks.held -= 1; } };
  } } });
"""


def test_from_the_film_list_on_a_telephone(
    open_page, cast: Cast, takes: list[Path], large: list[Path], assert_accessible, shot: Shot
):
    """Three films with one thumb, of which the portal has one already."""
    page = open_page(cast.coach, width=360, height=740, forgive="422")
    page.add_init_script(TELL_OF_LOCKS)
    page.goto(reverse("poolside:film_list", args=[cast.session.code]))
    page.set_input_files("#film", takes[0])
    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole")
    again = takes[0].with_name("IMG_0001.MOV")
    again.write_bytes(takes[0].read_bytes())
    sent: list[int] = []
    page.on(
        "request",
        lambda asked: sent.append(1) if asked.method == "PATCH" else None,
    )

    page.set_input_files("#film", [large[0], again, takes[1]])

    expect(rows(page).locator("[data-state]")).to_have_text(
        ["in, and whole", "in, and whole", "not taken", "in, and whole"], timeout=30_000
    )
    expect(rows(page).nth(2)).to_contain_text("already in this session, as “lane 2.mp4”")
    assert len(sent) == 3, "nothing of the known film was sent"
    assert page.evaluate("window.locks.asked") >= 2
    assert page.evaluate("window.locks.held") == 0
    page.get_by_role("button", name="Put the squad on the list").click()
    expect(page.get_by_role("heading", name="To be filmed", exact=True)).to_be_visible()
    expect(rows(page)).to_have_count(4)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert_accessible(page)
    shot(page, "uploading-film-list-360", whole=True)


def test_a_lost_line_goes_on_by_itself(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, forgive="ERR_INTERNET_DISCONNECTED")
    page.goto(session_url(cast))
    page.context.set_offline(True)

    page.set_input_files("#film", takes[0])

    expect(rows(page).locator("[data-state]")).to_have_text("line lost")
    expect(rows(page)).to_contain_text("It goes on by itself")
    page.context.set_offline(False)
    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole", timeout=30_000)
    assert Recording.objects.count() == 1


def test_three_films_and_a_line_that_is_cut(open_page, cast: Cast, large: list[Path], shot: Shot):
    """The line breaks within the second film, after its first piece: nothing is sent twice."""
    page = open_page(cast.coach, forgive="ERR_")
    page.goto(session_url(cast))
    pieces: list[int] = []

    def cut_the_fourth(route: Route) -> None:
        if route.request.method == "PATCH":
            pieces.append(int(route.request.headers["upload-offset"]))
            if len(pieces) == 4:
                route.abort("connectionreset")
                return
        route.continue_()

    page.route(ARRIVALS, cut_the_fourth)

    page.set_input_files("#film", large)

    expect(rows(page).nth(1).locator("[data-state]")).to_have_text("line lost", timeout=30_000)
    expect(page.locator("[data-all]")).to_contain_text("1 of 3 films")
    shot(page, "uploading-line-lost", whole=True)
    page.set_viewport_size({"width": 360, "height": 780})
    shot(page, "uploading-line-lost-360", whole=True)
    states = rows(page).locator("[data-state]")
    expect(states).to_have_text(["in, and whole"] * 3, timeout=60_000)
    expect(page.locator("[data-all]")).to_contain_text("3 of 3 films")
    assert pieces == [0, PIECE, 0, PIECE, PIECE, 0, PIECE]
    assert sums() == [hashlib.sha256(film.read_bytes()).hexdigest() for film in large]


@pytest.mark.parametrize("forgets", [False, True], ids=["remembered", "as a new file"])
def test_pausing_and_loading_the_page_anew(open_page, cast: Cast, large: list[Path], forgets: bool):
    """A telephone hands the same film out as a new file, which the portal knows all the same."""
    page = open_page(cast.coach, forgive="ERR_")
    page.goto(session_url(cast))
    is_through: list[bool] = []

    def stalls_for_a_while(route: Route) -> None:
        if is_through:
            route.continue_()
        else:
            stalls_after_the_first_piece(route)

    page.route(ARRIVALS, stalls_for_a_while)
    page.set_input_files("#film", large[0])
    expect(rows(page).locator("[data-state]")).to_contain_text("8 MB of")
    eventually(page, lambda: offset_on_the_disk() == PIECE)

    rows(page).get_by_role("button", name="Pause").click()
    expect(rows(page).locator("[data-state]")).to_have_text("paused")
    expect(rows(page).get_by_role("button", name="Go on")).to_be_visible()
    if forgets:
        page.evaluate("localStorage.clear()")
    page.reload()
    is_through.append(True)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.method))
    page.set_input_files("#film", large[0])

    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole", timeout=30_000)
    first = "POST" if forgets else "HEAD"
    assert [method for method in sent if method in ("POST", "HEAD", "PATCH")] == [first, "PATCH"]
    assert sums() == [hashlib.sha256(large[0].read_bytes()).hexdigest()]


def test_pausing_and_going_on(open_page, cast: Cast, large: list[Path]):
    page = open_page(cast.coach, forgive="ERR_")
    page.goto(session_url(cast))
    page.route(ARRIVALS, stalls_after_the_first_piece)
    page.set_input_files("#film", large[0])
    expect(rows(page).locator("[data-state]")).to_contain_text("8 MB of")
    rows(page).get_by_role("button", name="Pause").click()
    page.unroute_all(behavior="ignoreErrors")

    rows(page).get_by_role("button", name="Go on").click()

    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole", timeout=30_000)
    assert sums() == [hashlib.sha256(large[0].read_bytes()).hexdigest()]


def test_cancelling(open_page, cast: Cast, takes: list[Path]):
    page = open_page(cast.coach, forgive="ERR_")
    page.goto(session_url(cast))
    page.route(ARRIVALS, stalls)

    page.set_input_files("#film", takes)

    expect(rows(page).locator("[data-state]").last).to_have_text("waiting its turn")
    rows(page).first.get_by_role("button", name="Cancel").click()
    expect(rows(page).locator("[data-state]").first).to_have_text("cancelled")
    rows(page).last.get_by_role("button", name="Cancel").click()
    expect(rows(page).locator("[data-state]")).to_have_text(["cancelled"] * 2)
    page.unroute_all(behavior="ignoreErrors")
    assert not Recording.objects.exists()
    eventually(page, lambda: not Arrival.objects.exists())


def test_who_was_signed_out_signs_in_and_goes_on(
    open_page, cast: Cast, large: list[Path], live_server
):
    page = open_page(cast.coach, forgive="401")
    page.goto(session_url(cast))
    [kept] = [c for c in page.context.cookies() if c["name"] == "flagline_session"]

    def sign_out(route: Route) -> None:
        if route.request.headers.get("upload-offset") == str(PIECE):
            page.context.clear_cookies(name="flagline_session")
        route.continue_()

    page.route(ARRIVALS, sign_out)
    page.set_input_files("#film", large[0])
    expect(rows(page)).to_contain_text("You are signed out by now.")
    page.unroute_all(behavior="ignoreErrors")
    page.context.add_cookies(
        [{"name": kept["name"], "value": kept["value"], "url": live_server.url}]
    )

    rows(page).get_by_role("button", name="Try again").click()

    expect(rows(page).locator("[data-state]")).to_have_text("in, and whole", timeout=30_000)
    assert Arrival.objects.count() == 1
    assert sums() == [hashlib.sha256(large[0].read_bytes()).hexdigest()]


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
    page.route(ARRIVALS, stalls)
    page.set_input_files("#film", takes[0])
    expect(rows(page)).to_have_count(1)

    page.goto(reverse("recordings:sessions"))

    page.unroute_all(behavior="ignoreErrors")
    assert asked == ["beforeunload"]
