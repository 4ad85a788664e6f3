"""The browser itself: that it opens pages as somebody, and that nothing goes wrong unseen."""

from __future__ import annotations

from tests.cast import Cast


def test_it_works(open_page, cast: Cast):
    page = open_page(cast.coach)
    assert page.goto("/health/").status == 200
    assert page.context.request.get("/static/css/tokens.css").status == 200


def test_a_script_out_of_nowhere_is_noticed(open_page):
    page = open_page(forgive="Content Security Policy")
    page.goto("/health/")
    with page.expect_console_message(lambda message: message.type == "error") as caught:
        page.evaluate(
            "() => document.body.append("
            "Object.assign(document.createElement('script'), {textContent: 'let x = 1'}))"
        )
    assert "inline script" in caught.value.text
