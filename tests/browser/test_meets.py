"""A meet, from a pasted list to an official's slip."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from portal.meets.models import Disqualification, Entry
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast
from tests.planning.openings import NOT_LEGAL, has
from tests.review import words

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
LIST = "Falk, Ines\t100 breast\t200 IM\nNoor Haan; 50 free\nNoor Hahn; 50 fly"


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_it_works(
    open_page: OpenPage, cast: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    known = words.learn()
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    look = f"{width}-{'dark' if dark else 'light'}"
    page = open_page(cast.coach, width=width, dark=dark, forgive="422")
    page.goto("/meets/")
    page.get_by_label("Name").fill("Autumn Cup")
    page.get_by_label("First day").fill("2026-11-19")
    assert_accessible(page)
    shot(page, f"meets-{look}", whole=True)
    page.get_by_role("button", name="Put it down").click()

    page.get_by_label("Paste a list").fill(LIST)
    page.get_by_role("button", name="Enter them").click()
    expect(page.get_by_role("alert")).to_contain_text("Nobody of your squads is called “Noor Hahn”")
    expect(page.get_by_label("Paste a list")).to_have_value("Noor Hahn; 50 fly")
    assert Entry.objects.count() == 3
    shot(page, f"meet-left-{look}", whole=True)

    page.get_by_label("Paste a list").fill("Noor Haan; 100 breast")
    page.get_by_role("button", name="Enter them").click()
    page.get_by_role("link", name="Official’s slip").first.click()
    page.get_by_label("as the slip says it").fill("Second dolphin kick after the start.")
    assert_accessible(page)
    shot(page, f"meet-slip-{look}", whole=True)
    page.get_by_role("button", name="Keep the slip").click()
    page.locator("details summary").first.click()
    expect(page.get_by_text("It was not on this list")).to_be_visible()
    assert_accessible(page)
    shot(page, f"meet-{look}", whole=True)
    assert Disqualification.objects.get().entry.swimmer == cast.swimmer
