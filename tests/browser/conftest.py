"""A real Chromium against a real server, signed in as anybody of the cast.

Every page that a test opens must keep its console empty: an error there, a broken content
security policy among them, fails the test even when what it looked for was found.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from portal.people.models import User
from tests.chromium import CHROMIUM, FLAGS

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SHOTS = django_settings.BASE_DIR / "build" / "shots"
HERE = Path(__file__).parent
# Chromium's own words for it change; a test that provokes other errors must not hide these.
BROKEN_POLICY = "content security policy broken"
TELL_VIOLATIONS = f"""
addEventListener("securitypolicyviolation", (event) => console.error(
  `{BROKEN_POLICY}: ${{event.effectiveDirective}} stopped ${{event.blockedURI}}`
));
"""

OpenPage = Callable[..., Page]
Shot = Callable[..., None]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def playwright() -> Iterator[Playwright]:
    """Playwright keeps an event loop in this thread, so that Django takes every query for one
    made in a coroutine; none is. Ends with the folder, so that other tests have no loop."""
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as driver:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        yield driver


@pytest.fixture(scope="package")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    if not os.access(CHROMIUM, os.X_OK):
        pytest.fail(f"{CHROMIUM} is missing. Type: apt-get install -y chromium", pytrace=False)
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def open_page(
    chromium: Browser, playwright: Playwright, live_server, transactional_db
) -> Iterator[OpenPage]:
    """`open_page(user, width=…, height=…, dark=…, phone=…, touch=…)`: a page in its own browser.

    Addresses are relative: `page.goto("/sessions/")`. `forgive` is a pattern of console errors
    that the test provokes, such as a film that is not there.
    """
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def open_one(
        user: User | None = None,
        *,
        width: int = 1440,
        height: int = 900,
        dark: bool = False,
        phone: bool = False,
        touch: bool = False,
        script: bool = True,
        forgive: str = "",
    ) -> Page:
        device: dict[str, Any] = (
            _phone(playwright) if phone else _window(width, height, touch=touch)
        )
        context = chromium.new_context(
            base_url=live_server.url,
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
            **device,
        )
        contexts.append(context)
        if user is not None:
            context.add_cookies([_session_cookie(user, live_server.url)])
        context.add_init_script(TELL_VIOLATIONS)
        page = context.new_page()
        page.set_default_timeout(10_000)
        listen(page, complaints, forgive)
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert complaints == []


def _window(width: int, height: int, *, touch: bool) -> dict[str, object]:
    return {"viewport": {"width": width, "height": height}, "has_touch": touch}


def _phone(playwright: Playwright) -> dict[str, object]:
    """Its size, touch and pixels; the browser stays Chromium."""
    device = dict(playwright.devices["iPhone 15"])
    del device["default_browser_type"]
    return device


def _session_cookie(user: User, address: str):
    client = Client()
    client.force_login(user)
    name = django_settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": address}


def listen(page: Page, complaints: list[str], forgive: str = "") -> None:
    """Complaints about the content policy are never forgiven."""
    # A page without a head of its own, such as /health/, makes the browser ask for this.
    pattern = re.compile(rf"/favicon\.ico\)$|{forgive}" if forgive else r"/favicon\.ico\)$")

    def note(said: str) -> None:
        if BROKEN_POLICY in said or not pattern.search(said):
            complaints.append(said)

    page.on("pageerror", lambda error: note(f"uncaught: {error}"))
    page.on(
        "console",
        lambda message: (
            note(f"{message.text} ({message.location.get('url', '')})")
            if message.type == "error"
            else None
        ),
    )


@pytest.fixture
def shot() -> Shot:
    """`shot(page, "bench-dark")` writes build/shots/bench-dark.png, if somebody is to look:
    FLAGLINE_SHOTS=1."""

    def take(page: Page, name: str, *, whole: bool = False) -> None:
        if os.environ.get("FLAGLINE_SHOTS"):
            SHOTS.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=SHOTS / f"{name}.png", full_page=whole)

    return take


@pytest.fixture
def assert_accessible() -> Callable[[Page], None]:
    """WCAG 2.2 A and AA, as far as a program can judge them."""

    def check(page: Page) -> None:
        found = Axe().run(page, options={"runOnly": RULES, "resultTypes": ["violations"]})
        assert found.violations_count == 0, found.generate_report()

    return check
