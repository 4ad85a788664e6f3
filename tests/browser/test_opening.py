"""The browser itself: that it opens pages as somebody, and that nothing goes wrong unseen."""

from __future__ import annotations

from tests.cast import Cast


def test_it_works(open_page, cast: Cast):
    page = open_page(cast.coach)
    assert page.goto("/health/").status == 200
    assert page.context.request.get("/static/css/tokens.css").status == 200
