"""A held arrow key in Chromium: frames that are seen, of those that the key asks for."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from portal.recordings import preparing
from portal.recordings.models import Clip, Recording, Rendition
from tests.bench import answering, filming
from tests.bench.measuring import Row, Target, in_turn
from tests.cast import NOW, Cast
from tests.chromium import CHROMIUM, FLAGS

RUNS = 5
ASKED = 40
"""Key presses a second; keyboards repeat 25 to 40 times."""
FULL_GOAL, LIGHT_GOAL = 20, 30
# Holds the key for three seconds and counts what is shown in them.
HELD = """async (asked) => {
  const stage = document.querySelector(".stage");
  const shown = new Set();
  stage.addEventListener("frame:shown", ({ detail }) => shown.add(detail.frame));
  const press = (key) =>
    document.body.dispatchEvent(new KeyboardEvent("keydown", { key, repeat: true, bubbles: true }));
  const began = performance.now();
  let pressed = 0;
  while (performance.now() - began < 3000) {
    const due = ((performance.now() - began) / 1000) * asked;
    for (; pressed < due; pressed += 1) press("ArrowRight");
    await new Promise((resolve) => setTimeout(resolve, 1000 / asked / 4));
  }
  const seconds = (performance.now() - began) / 1000;
  return [shown.size / seconds, pressed / seconds];
}"""


def hold(cast: Cast, folder: Path) -> list[Row]:
    recording = filming.bring_in(cast)
    preparing.prepare(recording, at=NOW, report=filming.unheard)
    recording.refresh_from_db()
    light = recording.renditions.get()
    full = _full_copy(recording, light, cast)
    signed_in = answering.cookie(cast.coach)
    with answering.portal() as port, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        address = f"http://localhost:{port}"
        context = browser.new_context(base_url=address)
        context.add_cookies(
            [{"name": name, "value": value, "url": address} for name, value in signed_in.items()]
        )
        page = context.new_page()
        works = {"light": partial(_held, page, light), "full": partial(_held, page, full)}
        took = in_turn(works, runs=RUNS)
        browser.close()
    return [
        Row.of(
            f"held arrow, {name} copy",
            [shown for shown, _asked in took[name]],
            [asked for _shown, asked in took[name]],
            unit="frames/s",
            beside="what the key asks for",
            target=Target(at_least=goal / ASKED),
        )
        for name, goal in (("light", LIGHT_GOAL), ("full", FULL_GOAL))
    ]


def _held(page: Page, copy: Rendition) -> tuple[float, float]:
    page.goto(f"/player/{copy.code}/")
    page.wait_for_selector(".stage[data-shown]")
    shown, asked = page.evaluate(HELD, ASKED)
    return shown, asked


def _full_copy(recording: Recording, light: Rendition, cast: Cast) -> Rendition:
    clip = Clip.objects.create(
        recording=recording,
        first_frame=0,
        last_frame=light.frame_count - 1,
        stroke="free",
        view="side-underwater",
        effort="easy",
        cut_by=cast.coach,
        cut_at=NOW,
    )
    clip.swimmers.add(cast.swimmer)
    preparing.prepare_clip(clip, at=NOW, report=filming.unheard)
    return clip.renditions.get(kind=Rendition.Kind.FULL)
