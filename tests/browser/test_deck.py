"""Deck notes on a telephone, with and without script."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from portal.review import decking
from portal.review.models import Comment
from tests.browser.conftest import OpenPage, Shot
from tests.cast import NOW, Cast
from tests.review import words

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]


@pytest.fixture
def squad(cast: Cast) -> Cast:
    words.learn()
    return cast


@pytest.mark.parametrize("script", [True, False])
def test_it_works(open_page: OpenPage, squad: Cast, script: bool):
    page = open_page(squad.coach, width=360, height=740, script=script)
    page.goto(f"/sessions/{squad.session.code}/")
    page.get_by_role("link", name="Deck notes").click()
    page.get_by_role("link", name=squad.swimmer.name).click()
    page.get_by_role("link", name="breaststroke").click()
    page.get_by_label("What you saw").select_option("Feet not brought up to the hips")
    page.get_by_label("In your words").fill("Heels wait at the hips.")
    page.get_by_label("The focus of this review").check()
    page.get_by_text("Note for staff alone").first.click()
    page.get_by_label("Note for staff alone").fill("Ask about the knee.")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Heels wait at the hips.")).to_be_visible()
    expect(page.get_by_text("For staff alone: Ask about the knee.")).to_be_visible()
    assert Comment.objects.get().stroke == "breast"
    expect(page.get_by_role("link", name="breaststroke")).to_have_attribute("aria-current", "true")

    page.get_by_role("button", name="Take it out").click()
    expect(page.get_by_role("button", name="Bring it back")).to_be_visible()
    assert Comment.objects.get().dropped_at


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, squad: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    for dose in ("", "4 x 25"):
        decking.write(
            squad.session,
            squad.swimmer,
            stroke="breast",
            by=squad.coach,
            at=NOW,
            drill="heels-to-hands",
            dose=dose,
            verdict="work on",
            tag="feet-low",
            words="Heels wait at the hips.",
        )
    page = open_page(squad.coach, width=width, height=740, dark=dark)
    sheet = f"/sessions/{squad.session.code}/deck/"
    for name, address in [
        ("deck", sheet),
        ("deck-notes", f"{sheet}{squad.swimmer.code}/?stroke=breast"),
    ]:
        page.goto(address)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
