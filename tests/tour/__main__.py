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
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


def main(address: str) -> None:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        coach = signed_in(browser, address, "Marta", DESK)
        keep(coach, "desk")
        follow(coach, "/recordings/", "sorting")
        coach.goto("/")
        follow(coach, "/clips/", "bench")
        dark = signed_in(browser, address, "Marta", DESK, scheme="dark")
        follow(dark, "/clips/", "bench-dark")
        parent = signed_in(browser, address, "Ada", PHONE)
        follow(parent, "/notes/", "notes")
        browser.close()


def signed_in(
    browser: Browser, address: str, name: str, size: dict[str, int], *, scheme: str = "light"
) -> Page:
    context = browser.new_context(
        base_url=address,
        viewport={"width": size["width"], "height": size["height"]},
        color_scheme="dark" if scheme == "dark" else "light",
    )
    page = context.new_page()
    page.goto("/demo/")
    page.get_by_role("button", name=re.compile(name)).first.click()
    page.wait_for_load_state()
    return page


def follow(page: Page, part: str, name: str) -> None:
    """Through the first link in the page that leads to a thing of this kind."""
    page.locator(f"main a[href*='{part}']").filter(has_not_text="All").last.click()
    page.wait_for_load_state()
    page.wait_for_timeout(1500)
    keep(page, name)


def keep(page: Page, name: str) -> None:
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    picture.save(HERE / f"{name}.jpg", quality=82, optimize=True)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "http://localhost:8000")
