"""The door and the pages beside it, as a phone and a desk see them."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from playwright.sync_api import expect

from tests.browser.conftest import OpenPage, Shot
from tests.cast import assemble

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
FAULTS = r"status of (400|403|404|429)"


@pytest.fixture(autouse=True)
def nobody_has_tried():
    cache.clear()


def test_it_works(open_page: OpenPage):
    cast = assemble()
    page = open_page(phone=True, script=False)
    page.goto("/sign-in/?next=/concern/")
    page.get_by_label("E-mail").fill(cast.guardian.email)
    page.get_by_label("Password").fill("paper boats in the gutter")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Wanda Okoro")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_a_wrong_password_is_told_to_a_screen_reader(open_page: OpenPage):
    cast = assemble()
    page = open_page()
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(cast.coach.email)
    page.get_by_label("Password").fill("paper planes")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Nothing was changed.")
    expect(page.get_by_label("E-mail")).to_have_value(cast.coach.email)
    expect(page.get_by_label("Password")).to_have_value("")


def test_a_demo_person_is_two_clicks_away(open_page: OpenPage, settings):
    settings.DEMO = True
    cast = assemble()
    cast.club.is_demo = True
    cast.club.save()
    page = open_page()
    page.goto("/concern/")
    page.get_by_role("link", name="Sign in").click()
    page.get_by_role("link", name="Choose a person").click()
    page.get_by_role("button", name="Ada Falk").click()
    page.goto("/concern/")
    expect(page.get_by_text("You are signed in as Ada Falk.")).to_be_visible()


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, settings, width: int, dark: bool
):
    settings.DEMO = True
    cast = assemble()
    cast.club.is_demo = True
    cast.club.save()
    stranger = open_page(width=width, height=800, dark=dark, forgive=FAULTS)
    guardian = open_page(cast.guardian, width=width, height=800, dark=dark)
    for page, name, address in [
        (stranger, "sign-in", "/sign-in/"),
        (stranger, "demo", "/demo/"),
        (stranger, "concern-stranger", "/concern/"),
        (guardian, "concern", "/concern/"),
        (stranger, "nothing", "/nothing/"),
    ]:
        page.goto(address)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(wide) == 0
        small = page.eval_on_selector_all(
            "main a, main button, main input:not([type=hidden]), header a, footer button",
            "all => all.filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML)",
        )
        assert small == []


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_a_refused_try(open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool):
    page = open_page(width=width, height=800, dark=dark)
    page.goto("/sign-in/")
    page.get_by_label("Password").fill("x")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_label("E-mail")).to_have_accessible_description(
        "The address is missing. Type the one your club has for you."
    )
    shot(page, f"sign-in-wrong-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
