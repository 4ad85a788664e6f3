"""The weekly mail as a mail program on a phone and at a desk shows its HTML part."""

from __future__ import annotations

from datetime import date

import pytest

from portal.digests import planning
from tests.browser.conftest import OpenPage, Shot
from tests.cast import assemble
from tests.digests.practice import (
    DUE,
    PRAISE,
    add_sibling,
    correction,
    publish,
    warning,
    weekly,
)
from tests.notes import staging


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 390, 640])
def test_it_works(open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool):
    cast = assemble()
    aim = correction("Ride the line longer.", cue="Be long.", drill=staging.drill())
    publish(cast, PRAISE, aim, on=date(2026, 11, 17), focus=1)
    publish(cast, aim, correction("Chin d" + "o" * 90 + "wn."), warning("Two of them."), focus=0)
    publish(cast, warning("Down, and down again."), of=add_sibling(cast, "Jonas Falk"), focus=0)
    add_sibling(cast, "Aino Falk")
    mail = weekly(planning.plan(DUE))["Ada"]
    page = open_page(width=width, height=800, dark=dark)
    page.set_content(mail.html)
    shot(page, f"digest-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) == 0
    names = page.get_by_role("heading", level=2).all_inner_texts()
    assert names == ["Ines", "Jonas", "Aino"]
    button = page.get_by_role("link", name="See it on film (sign-in)").bounding_box()
    assert button is not None
    assert button["height"] >= 44
