"""Telling a concern on a phone, and the pages of those who hear it or who run the portal."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from portal.openness.models import Case
from portal.people.models import Suspension
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast, assemble
from tests.openness import told
from tests.recordings import filmed

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
PLACES = {
    "cases": "/cases/",
    "footage": "/footage/",
    "people": "/suspensions/",
    "record": "/record/",
    "communications": "/communications/",
}
NO_PICTURES = r"status of 404"


@pytest.fixture
def cast(transactional_db) -> Cast:
    cast = assemble()
    filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    return cast


def must_fit(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("script", [True, False])
def test_it_works(open_page: OpenPage, cast: Cast, script: bool):
    """A parent tells on a phone, with and without scripts; the officer shuts the coach out."""
    phone = open_page(cast.guardian, width=360, height=740, script=script)
    phone.goto("/notes/")
    phone.get_by_role("link", name="Report a concern").click()
    small = phone.locator("main :is(a, button, textarea, label.tick)").all()
    boxes = [one.bounding_box() for one in small]
    assert all(box and box["height"] >= 44 for box in boxes)
    phone.get_by_label("About a child").check()
    phone.get_by_label("What happened, or what worries you?").fill(told.WORDS)
    phone.get_by_role("button", name="Send it").click()
    expect(phone.get_by_role("heading", name="Thank you for telling")).to_be_visible()
    number = Case.objects.get().number
    expect(phone.locator(".number b")).to_have_text(number)

    desk = open_page(cast.welfare, script=script)
    desk.goto("/")
    desk.get_by_role("link", name="Cases").first.click()
    desk.get_by_role("link", name=number).click()
    expect(desk.get_by_text(told.WORDS)).to_be_visible()
    desk.get_by_role("link", name="Suspend a person’s access").click()
    desk.get_by_label("Name").fill("marta")
    desk.get_by_role("button", name="Find").click()
    desk.get_by_role("link", name="Marta Lind").click()
    expect(desk.get_by_label("Case")).to_have_value(str(Case.objects.get().code))
    desk.get_by_label("Reason").fill("Until it is clear.")
    desk.get_by_role("button", name="Suspend now").click()
    expect(desk.get_by_text("Suspended from Otterbrook")).to_be_visible()
    assert Suspension.objects.get().user == cast.coach


def test_what_was_typed_stands_there_after_the_sign_in_ran_out(open_page: OpenPage, cast: Cast):
    page = open_page(cast.guardian, width=360, forgive=r"status of 403")
    page.goto("/concern/")
    page.get_by_label("About a child").check()
    page.get_by_label("What happened, or what worries you?").fill(told.WORDS)
    page.context.clear_cookies()

    page.get_by_role("button", name="Send it").click()

    words = page.get_by_label("What happened, or what worries you?")
    expect(words).to_have_value(told.WORDS)
    expect(page.get_by_role("alert")).to_contain_text("signed out by now")


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_can_be_read_by_everybody(
    open_page: OpenPage, cast: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    case = told.case(cast)
    recording = cast.session.recordings.get()
    places = {
        **PLACES,
        "case": f"/cases/{case.code}/",
        "film": f"/footage/{recording.code}/",
        "person": f"/suspensions/{cast.coach.code}/",
        "start": "/",
        "concern-form": "/concern/",
    }
    page = open_page(cast.welfare, width=width, dark=dark, forgive=NO_PICTURES)
    for name, place in places.items():
        page.goto(place)
        must_fit(page)
        assert_accessible(page)
        shot(page, f"openness-{name}-{width}{'-dark' if dark else ''}", whole=True)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_volunteers_pages_too(
    open_page: OpenPage, cast: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    told.look(cast)
    page = open_page(cast.volunteer, width=width, dark=dark, forgive=NO_PICTURES)
    for name, place in {"start": "/", "footage": "/footage/"}.items():
        page.goto(place)
        must_fit(page)
        assert_accessible(page)
        shot(page, f"volunteer-{name}-{width}{'-dark' if dark else ''}", whole=True)


def test_the_keyboard_reaches_everything_of_a_concern(open_page: OpenPage, cast: Cast):
    page = open_page(cast.guardian)
    page.goto("/concern/")
    page.get_by_label("About a child").focus()
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    page.keyboard.type(told.WORDS)
    for _field in ("about", "may answer", "about the officer", "send"):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", name="Thank you for telling")).to_be_visible()
    assert Case.objects.get().words == told.WORDS
