"""Stopping mail, from the mail itself and from the page about all of it."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
Kind = OutgoingMail.Kind


def address(cast: Cast) -> str:
    return f"/mail/{stopping.letters(cast.guardian, Kind.WEEKLY)}/"


@pytest.mark.parametrize("script", [True, False])
def test_it_works(open_page: OpenPage, cast: Cast, script: bool):
    page = open_page(width=360, script=script)
    page.goto(address(cast))
    page.get_by_role("button", name="Send no more of it").click()
    expect(page.get_by_text("No more of it goes to a***@example.org.")).to_be_visible()
    page.get_by_role("button", name="Send it again after all").click()
    expect(page.get_by_text("It goes to a***@example.org.")).to_be_visible()
    assert stopping.wants(cast.guardian, Kind.WEEKLY, about=[])


def test_one_child_of_two(open_page: OpenPage, cast: Cast):
    cast.mate.guardianships.update(guardian=cast.guardian)
    page = open_page(cast.guardian, width=360)
    page.goto("/notes/")
    page.get_by_role("link", name="Your mail").click()
    weekly = page.get_by_role("group", name="The weekly mail")
    weekly.get_by_label(f"with {cast.mate.first_name}’s notes").uncheck()
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept. It holds from now on.")).to_be_visible()
    expect(weekly.get_by_label(f"with {cast.mate.first_name}’s notes")).not_to_be_checked()
    assert not stopping.wants(cast.guardian, Kind.WEEKLY, about=[cast.mate.pk])
    assert stopping.wants(cast.guardian, Kind.WEEKLY, about=[cast.swimmer.pk])


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, cast: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    cast.mate.guardianships.update(guardian=cast.guardian)
    tone = "-dark" if dark else ""
    stranger = open_page(width=width, height=740, dark=dark)
    guardian = open_page(cast.guardian, width=width, height=740, dark=dark)
    for page, name, where in [
        (stranger, "mail-stop", address(cast)),
        (guardian, "mail-choices", "/mail/"),
    ]:
        page.goto(where)
        shot(page, f"{name}-{width}{tone}", whole=True)
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
