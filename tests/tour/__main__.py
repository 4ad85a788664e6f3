"""Takes the README's pictures anew from a running demo: `python -m tests.tour [ADDRESS]`."""

from __future__ import annotations

import re
import sys
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.chromium import CHROMIUM, FLAGS

HERE = Path(__file__).parent
DESK = (1280, 800)
PHONE = (390, 844)


def main(address: str) -> None:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        coach = signed_in(browser, address, "Marta", DESK)
        settle(coach)
        keep(coach, "desk")
        follow(coach, "Sort", "sorting")
        coach.goto("/")
        follow(coach, "Check", "bench")
        coach.goto("/swimmers/")
        follow(coach, "Jonas Falk", "progress")
        coach.goto("/lanes/")
        coach.locator(".made li", has_text="Juniors").get_by_role("link").first.click()
        settle(coach)
        keep(coach, "lanes")
        parent = signed_in(browser, address, "Ada", PHONE)
        parent.goto("/notes/")
        parent.locator("main a[href*='/notes/']").last.click()
        settle(parent)
        keep(parent, "notes")
        browser.close()


def signed_in(browser: Browser, address: str, name: str, size: tuple[int, int]) -> Page:
    width, height = size
    context = browser.new_context(base_url=address, viewport={"width": width, "height": height})
    page = context.new_page()
    page.goto("/demo/")
    page.get_by_role("button", name=re.compile(name)).first.click()
    page.wait_for_load_state()
    return page


def follow(page: Page, words: str, name: str) -> None:
    """Through the first link of the page that begins with these words."""
    page.locator("main").get_by_role("link", name=re.compile(f"^{words}")).first.click()
    settle(page)
    keep(page, name)


def settle(page: Page) -> None:
    page.wait_for_load_state()
    page.wait_for_timeout(1500)


def keep(page: Page, name: str) -> None:
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    picture.save(HERE / f"{name}.jpg", quality=82, optimize=True)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "http://localhost:8000")
