"""The head coach's first evening in a new club, at a desk and on a phone."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import expect

from portal.people import recent
from portal.people.models import Club, Squad, User
from tests.browser.conftest import OpenPage, Shot
from tests.cast import assemble

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]


def freshly(page, user: User) -> None:
    """As if signed in a moment ago."""
    [session] = [c for c in page.context.cookies() if c["name"] == "flagline_session"]
    client = Client()
    client.cookies["flagline_session"] = session["value"]
    stored = client.session
    stored[recent.KEY] = timezone.now().timestamp()
    stored.save()


def test_it_works(open_page: OpenPage):
    cast = assemble()
    Club.objects.update(policy="", policy_edition="")
    Squad.objects.filter(pk=cast.squad.pk).update(second_adult=None)
    page = open_page(cast.head_coach)
    freshly(page, cast.head_coach)
    page.goto("/")
    page.get_by_role("link", name="Club", exact=True).click()
    expect(page.get_by_text("Next: Mail leaves.")).to_be_visible()
    page.get_by_role("button", name="Send a test mail").click()
    expect(page.get_by_text("A test mail is on its way")).to_be_visible()

    page.get_by_role("link", name=re.compile("Set right.*Policy on film")).click()
    page.get_by_label("Policy on film and pictures").fill("Two adults are at the pool.")
    page.get_by_label("Edition of the policy").fill("autumn 2026")
    page.get_by_label("Last reviewed on").fill("2026-11-01")
    page.get_by_role("button", name="Keep the policy").click()
    expect(page.get_by_text("Edition autumn 2026")).to_be_visible()

    page.goto("/club/squads/")
    page.get_by_role("link", name="Change Juniors").click()
    page.get_by_label("Second adult, who reads").select_option("Wanda Okoro")
    page.get_by_role("button", name="Keep the change").click()
    expect(page.get_by_text("“Juniors” is kept.")).to_be_visible()
    cast.squad.refresh_from_db()
    assert cast.squad.second_adult == cast.welfare


def test_a_swimmer_is_found_from_any_page_without_script(open_page: OpenPage):
    cast = assemble()
    page = open_page(cast.coach, script=False)
    page.goto("/sessions/")
    box = page.get_by_label("Find a swimmer, a squad or a session")
    box.fill("INE")
    box.press("Enter")
    page.get_by_role("link", name="Ines Falk").click()
    expect(page.get_by_role("heading", name="Ines Falk")).to_be_visible()


def test_on_a_phone_the_box_stands_on_a_page_of_its_own(open_page: OpenPage):
    cast = assemble()
    page = open_page(cast.head_coach, phone=True)
    page.goto("/sessions/")
    expect(page.get_by_label("Find a swimmer, a squad or a session")).to_be_hidden()
    page.get_by_role("link", name="Find", exact=True).click()
    expect(page.get_by_role("searchbox")).to_be_focused()
    page.keyboard.type("19 nov")
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Thu 19 Nov 2026")).to_be_visible()


@pytest.mark.parametrize(("width", "dark"), SIZES)
@pytest.mark.parametrize(
    ("path", "name"), [("/search/?q=j", "search"), ("/search/?q=kick", "theme"), ("/", "desk")]
)
def test_search_and_desk_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool, path: str, name: str
):
    cast = assemble()
    page = open_page(cast.head_coach, width=width, height=800, dark=dark)
    page.goto(path)
    shot(page, f"club-{name}-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    for size in (width, 640, 700, 999, 1000):
        page.set_viewport_size({"width": size, "height": 800})
        assert page.evaluate(wide) == 0, size


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool
):
    cast = assemble()
    page = open_page(cast.head_coach, width=width, height=800, dark=dark)
    freshly(page, cast.head_coach)
    for name in ("", "settings/", "seasons/", "pools/", "squads/", "people/"):
        page.goto(f"/club/{name}")
        label = name.strip("/") or "first-evening"
        shot(page, f"club-{label}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(wide) == 0, name
