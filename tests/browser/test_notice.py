"""The notice as a mail program on a phone and at a desk shows its HTML part."""

from __future__ import annotations

import pytest

from portal.review import telling
from tests.browser.conftest import OpenPage, Shot
from tests.cast import NOW, assemble
from tests.notes import staging


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 390, 640])
def test_it_works(open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool):
    review = staging.evening(assemble())
    review.published_by = review.session.created_by
    mail = telling.notes_ready(review, at=NOW)[0]
    page = open_page(width=width, height=800, dark=dark)
    page.set_content(mail.html)
    shot(page, f"notice-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) == 0
    button = page.get_by_role("link", name="Read the notes (sign-in)").bounding_box()
    assert button is not None
    assert button["height"] >= 44
