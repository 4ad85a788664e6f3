"""The catalogue at the desk, on a family's phone without scripts, and in grey on paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from portal.technique import catalogue
from portal.technique.owning import By, reword, set_month
from tests.browser import films
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast, assemble

WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
PAGES = {
    "strokes": "/technique/",
    "stroke": "/technique/breast/",
    "fault": "/technique/faults/breast-knees-wide/",
    "checkpoint": "/technique/checkpoints/breast-heels-high/",
    "drill": "/technique/drills/pullout-steps/",
    "rules": "/technique/breast/rules/",
    "search": "/technique/search/?q=knees+to+wide",
}
# They have all the parts there are; the long ones only more of them.
JUDGED = ("strokes", "fault", "search")


@pytest.fixture
def cast(transactional_db) -> Cast:
    catalogue.load()
    return assemble()


def small(page: Page) -> list[str]:
    """Links and buttons that a thumb would miss."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll("main :is(a, button, summary, input, select)")]
          .filter((each) => each.checkVisibility() && each.type !== "hidden")
          .map((each) => [each, each.getBoundingClientRect()])
          .filter(([each, box]) => box.height < 24 || box.width < 24)
          .map(([each]) => each.outerHTML.slice(0, 90))"""
    )
    return found


@pytest.mark.parametrize(("width", "dark"), [(360, False), (1440, True)])
def test_every_page_is_read_at_every_size(
    cast: Cast, open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool
):
    user = cast.guardian if width == 360 else cast.coach
    page = open_page(user, width=width, height=740 if width == 360 else 900, dark=dark)
    for name, address in PAGES.items():
        page.goto(address)
        assert page.evaluate(WIDER) <= 0, name
        assert small(page) == [], name
        if name in JUDGED:
            assert_accessible(page)
        shot(page, f"technique-{name}-{width}{'-dark' if dark else ''}", whole=True)


def test_a_parent_finds_a_drill_without_scripts(cast: Cast, open_page: OpenPage):
    page = open_page(cast.guardian, width=360, height=740, script=False)
    page.goto("/")
    page.get_by_role("link", name="Technique").click()
    page.get_by_role("searchbox").fill("his knees are too far apart")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Knees too wide").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Knees too wide")
    expect(page.get_by_text("Inner knee sore?").first).to_be_visible()
    page.locator(".exercise a").first.click()
    expect(page.locator(".dose")).to_be_visible()


def test_a_coach_makes_the_words_the_clubs_own(
    cast: Cast, open_page: OpenPage, shot: Shot, assert_accessible
):
    page = open_page(cast.head_coach, forgive="status of 422")
    page.goto("/technique/faults/breast-knees-wide/")
    page.get_by_role("link", name="Our own words for it").click()
    page.get_by_label("Our name for it").fill("Windscreen wipers")
    page.get_by_label("Our cue", exact=True).fill("Knees in, feet out.")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Windscreen wipers")).to_be_visible()
    page.get_by_role("link", name="Choose Juniors").click()
    page.get_by_label("Checkpoint 1").select_option(label="Heels close to the hips")
    page.get_by_role("button", name="Keep the list").click()
    expect(page.get_by_text("Heels close to the hips")).to_be_visible()
    page.get_by_label("Rule book", exact=True).select_option("NFHS")
    page.get_by_role("button", name="Keep the rule book").click()
    page.get_by_role("link", name="Add a fault").click()
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_text("This field is required.").first).to_be_visible()
    for name, address in {
        "own": "/technique/own/",
        "reword": "/technique/own/faults/breast-knees-wide/",
        "add": "/technique/own/add/faults/",
        "month": f"/technique/own/month/{cast.squad.code}/",
    }.items():
        page.set_viewport_size({"width": 360, "height": 740})
        page.goto(address)
        assert page.evaluate(WIDER) <= 0, name
        assert small(page) == [], name
        shot(page, f"technique-{name}-360", whole=True)
    assert_accessible(page)
    page.goto("/technique/breast/rules/?phase=kick")
    expect(page.locator(".article").first).to_contain_text("Our book NFHS 8-2-2")


def test_the_finder_knows_the_month_and_takes_a_number(
    cast: Cast, open_page: OpenPage, shot: Shot, own_files: Path
):
    clip = films.cut(cast, films.record(cast, own_files), first=20, last=200)
    by = By(cast.coach, timezone.now())
    set_month(cast.squad, cast.club.day(by.at), ["breast-heels-high"], by=by)
    reword(cast.club, "faults", "breast-heels-low", {"name": "Sleepy heels"}, by=by)
    page = open_page(cast.coach)
    page.goto(f"/clips/{clip.code}/")
    page.wait_for_selector(".line .rope")

    page.keyboard.press("w")
    page.keyboard.press("ArrowDown")
    options = page.get_by_role("listbox").get_by_role("option")
    expect(options.nth(1)).to_contain_text("Sleepy heels")
    expect(options).to_have_count(7)
    page.keyboard.press("Escape")
    page.keyboard.type("his knees are too far apart")
    place = options.all_inner_texts().index(
        next(text for text in options.all_inner_texts() if "Knees too wide" in text)
    )
    shot(page, "technique-finder")
    page.keyboard.press(str(place + 1))
    expect(page.get_by_role("combobox", name="Fault")).to_have_value("Knees too wide")
    expect(page.locator("#cue")).to_have_value("Knees narrow, feet wide.")


def test_a_sheet_of_paper_has_no_buttons_and_all_the_words(
    cast: Cast, open_page: OpenPage, shot: Shot
):
    page = open_page(cast.coach, width=794, height=1123)
    page.emulate_media(media="print")
    page.goto("/technique/faults/breast-scissor-kick/")
    for name in ("Find", "Other books"):
        expect(page.get_by_role("button", name=name)).to_be_hidden()
    expect(page.get_by_role("navigation").first).to_be_hidden()
    expect(page.get_by_text("U.S. Masters Swimming").first).to_be_visible()
    shot(page, "technique-print", whole=True)
