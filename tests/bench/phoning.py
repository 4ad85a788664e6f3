"""Notes of six moments on a phone with a thin line and an empty cache: when the words stand there,
when the first picture does, and what all of it weighs without film."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import av
from django.conf import settings
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from portal.items.models import Verdict
from portal.people.models import User
from portal.review import publishing
from portal.review.models import Review
from tests.bench import answering
from tests.bench.measuring import Row, Target
from tests.cast import NOW, Cast
from tests.chromium import CHROMIUM, FLAGS
from tests.notes import staging

FOOTAGE = Path(settings.BASE_DIR, "portal", "demo", "footage")
RUNS, MOMENTS = 5, 6
# Megabits and milliseconds of a weak signal at a pool.
BITS, DELAY = 1_600_000, 150
TEXT, STILL, WEIGHT = 1500.0, 2500.0, 300.0
KEPT = Target(at_most=1)
SEEN = """async () => {
  const image = document.querySelector(".still img");
  await image.decode();
  const painted = performance.getEntriesByName("first-contentful-paint");
  const [still] = performance.getEntriesByName(image.src);
  return [painted[0].startTime, still.responseEnd];
}"""
SCROLLED = """async () => {
  for (const image of document.querySelectorAll("img")) {
    image.loading = "eager";
    await image.decode();
  }
  const parts = performance.getEntriesByType("resource");
  const read = parts.filter((part) => part.initiatorType !== "fetch");
  const [page] = performance.getEntriesByType("navigation");
  return [page, ...read].reduce((sum, part) => sum + part.transferSize, 0) / 1000;
}"""


@dataclass(frozen=True)
class Reading:
    text: float
    still: float
    weight: float


def phone(cast: Cast, _folder: Path) -> list[Row]:
    review = _six_moments(cast)
    with answering.portal() as port, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        address = f"http://localhost:{port}"
        found = [_read(driver, browser, cast.guardian, address, review) for _ in range(RUNS)]
        browser.close()
    line = f"{BITS / 1e6:g} Mbit/s, {DELAY} ms"
    return [
        _row(f"notes, words, {line}", [one.text for one in found], TEXT, "ms", "1.5 s"),
        _row(f"notes, first still, {line}", [one.still for one in found], STILL, "ms", "2.5 s"),
        _row("notes of six moments, weight", [one.weight for one in found], WEIGHT, "kB", "300 kB"),
    ]


def _row(name: str, ours: list[float], limit: float, unit: str, beside: str) -> Row:
    return Row.of(name, ours, [limit] * len(ours), unit=unit, beside=beside, target=KEPT)


def _six_moments(cast: Cast) -> Review:
    """Published; their stills are frames of the demo's film, as heavy as those of a camera."""
    clip = staging.cut(staging.record(cast), cast.swimmer)
    review = Review.objects.create(session=cast.session, swimmer=cast.swimmer)
    for number in range(MOMENTS):
        is_good = number % 2 == 0
        said = {} if is_good else {"verdict": Verdict.WORK_ON, "fault": staging.fault()}
        staging.comment(review, clip, frame=5 + 8 * number, words=staging.EARLY, **said)
    publishing.publish(review, by=cast.coach, at=NOW)
    frames = _frames()
    for comment in review.comments.all():
        next(frames).save(comment.still.path, "JPEG", quality=85)
    return review


def _frames() -> Iterator[Image.Image]:
    """One of each film."""
    for path in sorted(FOOTAGE.glob("*.mp4"))[:MOMENTS]:
        with av.open(str(path)) as film:
            stream = film.streams.video[0]
            pictures = film.decode(stream)
            for _ in range(20):
                frame = next(pictures)
            picture: Image.Image = frame.to_image()
            picture.thumbnail((960, 540))
            yield picture


def _read(
    driver: Playwright, browser: Browser, reader: User, address: str, review: Review
) -> Reading:
    with _phone(driver, browser, reader, address) as page:
        page.goto(f"{address}/notes/{review.code}/", wait_until="load")
        text, still = page.evaluate(SEEN)
        weight = page.evaluate(SCROLLED)
    return Reading(text, still, weight)


@contextmanager
def _phone(driver: Playwright, browser: Browser, reader: User, address: str) -> Iterator[Page]:
    """With nothing in its cache."""
    device = dict(driver.devices["iPhone 15"])
    del device["default_browser_type"]
    context: BrowserContext = browser.new_context(**device, service_workers="block")
    cookies = answering.cookie(reader)
    context.add_cookies([{"name": n, "value": v, "url": address} for n, v in cookies.items()])
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    each_way = BITS / 8
    line.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": DELAY,
            "downloadThroughput": each_way,
            "uploadThroughput": each_way / 2,
        },
    )
    try:
        yield page
    finally:
        context.close()
