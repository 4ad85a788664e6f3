"""A lane plan, proposed, moved about by keys, by mouse and by thumb, kept and printed."""

from __future__ import annotations

from datetime import date

import pytest
from playwright.sync_api import Page, expect

from portal.planning.models import Plan, Seat
from portal.technique.models import Drill
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast, make_swimmer
from tests.planning.openings import NEW, NOT_LEGAL, RECURRING, has
from tests.planning.test_proposing import where
from tests.review import words

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
OTHERS = ["Mirela Dunăreanu-Whitcombe", "Otis Farrow", "Petra Vanter", "Leni Falkner"]


@pytest.fixture
def squad(cast: Cast) -> Cast:
    known = words.learn()
    for name in OTHERS:
        make_swimmer(cast.club, cast.squad, name, born=date(2013, 1, 1))
    swimmers = {each.first_name: each for each in cast.club.swimmers.all()}
    for name, verdicts in [("Ines", RECURRING), ("Mirela", NEW), ("Otis", RECURRING)]:
        has(cast, swimmers[name], known.feet, verdicts)
    for name in ["Noor", "Petra"]:
        has(cast, swimmers[name], known.dolphins, NOT_LEGAL)
    return cast


def propose(page: Page) -> Plan:
    page.goto("/lanes/")
    page.get_by_label("Date").fill("2026-11-20")
    page.get_by_label("Lanes", exact=True).fill("3")
    page.get_by_role("button", name="Propose lanes").click()
    page.get_by_role("heading", name="Lanes for Friday").wait_for()
    return Plan.objects.get()


def test_it_works(open_page: OpenPage, squad: Cast):
    page = open_page(squad.coach)
    plan = propose(page)
    seats = where(plan)
    assert seats["Noor"] == seats["Petra"]
    assert seats["Ines"] == seats["Otis"] == seats["Mirela"] != seats["Noor"]
    expect(page.get_by_text("Of the 5 swimmers with something open, 5 swim")).to_be_visible()

    # By keys: lifted, two lanes on, seated, still under the fingers.
    page.locator("summary", has_text="Ines Falk").focus()
    page.keyboard.press("Enter")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_have_text("Ines swims in lane 3.")
    expect(page.locator("summary", has_text="Ines Falk")).to_be_focused()
    assert where(plan)["Ines"] == 3

    page.keyboard.press("h")
    expect(page.get_by_role("status")).to_have_text("Ines may be moved.")
    page.keyboard.press("h")
    expect(page.get_by_role("status")).to_have_text("Ines is held.")

    # By mouse.
    name = page.locator("summary", has_text="Leni Falkner")
    name.drag_to(page.locator("[data-lane='3'] h2"))
    expect(page.get_by_role("status")).to_have_text("Leni swims in lane 3.")
    assert where(plan)["Leni"] == 3

    page.get_by_role("button", name="Propose again").click()
    expect(page.get_by_role("status")).to_have_text("Proposed again. What is held has stayed.")
    assert (where(plan)["Ines"], where(plan)["Leni"]) == (3, 3)
    before = where(plan)
    page.reload()
    assert where(plan) == before
    page.get_by_role("button", name="Keep this plan").click()
    expect(page.get_by_text("Kept by Marta Lind.")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_with_a_thumb(open_page: OpenPage, squad: Cast, script: bool):
    page = open_page(squad.coach, width=360, height=740, script=script)
    plan = propose(page)
    page.locator("summary", has_text="Leni Falkner").click()
    page.locator(".waiting").get_by_role("button", name="lane 3").click()
    page.locator("[data-lane='3']", has_text="Leni Falkner").wait_for()
    assert Seat.objects.get(plan=plan, swimmer__first_name="Leni").is_held


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_it_reads_well(
    open_page: OpenPage, squad: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    drill = Drill.objects.first()
    look = f"{width}-{'dark' if dark else 'light'}"
    page = open_page(squad.coach, width=width, height=900, dark=dark)
    plan = propose(page)
    plan.lanes.filter(number=1).update(drill=drill, is_held=True)
    page.reload()
    shot(page, f"lane-plan-{look}", whole=True)
    assert_accessible(page)
    page.goto(f"/lane-plans/{plan.code}/sheet/")
    shot(page, f"lane-sheet-{look}", whole=True)
    assert_accessible(page)
    page.goto("/lanes/")
    shot(page, f"lane-plans-{look}", whole=True)
    assert_accessible(page)
