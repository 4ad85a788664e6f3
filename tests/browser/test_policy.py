"""That the suite hears a broken content policy, so that its silence means something."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import BROKEN_POLICY, TELL_VIOLATIONS, listen

INLINE_STYLE = "document.body.setAttribute('style', 'color: red')"
INLINE_SCRIPT = """
document.body.append(Object.assign(document.createElement("script"), {text: "window.ran = true"}))
"""
ELSEWHERE = "document.body.append(Object.assign(new Image(), {src: 'https://example.org/x.png'}))"


@pytest.mark.parametrize(
    ("planted", "directive"),
    [
        (INLINE_STYLE, "style-src-attr"),
        (INLINE_SCRIPT, "script-src-elem"),
        (ELSEWHERE, "img-src"),
    ],
)
def test_it_works(planted: str, directive: str, chromium: Browser, live_server, transactional_db):
    """Forgiving everything else does not hide it."""
    complaints: list[str] = []
    context = chromium.new_context(base_url=live_server.url)
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    listen(page, complaints, forgive=".*")
    page.goto("/sign-in/")
    assert complaints == []

    with page.expect_console_message(lambda message: BROKEN_POLICY in message.text):
        page.evaluate(planted)

    assert [said for said in complaints if said.startswith(f"{BROKEN_POLICY}: {directive}")]
    context.close()
