"""Two films side by side show the same moment, whatever their rates: told by what is presented."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from portal.recordings.models import Clip, Recording, Session
from tests.browser import films
from tests.browser.test_bench import ready
from tests.cast import DAY, NOW, Cast
from tests.review import words
from tests.soak import count

SECONDS = count(8, 60)
NOW_RATE, THEN_RATE = 60, 25
SLOWER = 1 / THEN_RATE
SETTLING = 1.0
LEFT_OUT = 0.02
# What stands on either stage, read from the pixels.
NUMBERS = """() => [...document.querySelectorAll(".stage video")].map((video) => {
  const paper = document.createElement("canvas");
  [paper.width, paper.height] = [video.videoWidth, video.videoHeight];
  const pen = paper.getContext("2d");
  pen.drawImage(video, 0, 0);
  const cell = (16 * paper.width) / 320;
  let number = 0;
  for (let place = 0; place < 16; place += 1) {
    const [red] = pen.getImageData((place + 0.5) * cell, cell / 2, 1, 1).data;
    number = number * 2 + (red > 127 ? 1 : 0);
  }
  return number;
})"""
SEEK = """(frame) => document.querySelector(".stage").dispatchEvent(
  new CustomEvent("seek:request", { detail: { frame } })
)"""
# The times that the browser presents on both and those of their clocks, once a painting, from the
# beginning of playing.
WATCH = """() => {
  const [lead, follow] = document.querySelectorAll(".stage video");
  const shown = new Map();
  for (const video of [lead, follow]) {
    const next = (_now, told) => {
      shown.set(video, told.mediaTime);
      video.requestVideoFrameCallback(next);
    };
    video.requestVideoFrameCallback(next);
  }
  window.pairs = [];
  const began = performance.now();
  const sample = (now) => {
    if (!lead.paused && shown.size === 2) {
      const apart = follow.currentTime - lead.currentTime;
      pairs.push([(now - began) / 1000, shown.get(lead), shown.get(follow), apart]);
    }
    requestAnimationFrame(sample);
  };
  requestAnimationFrame(sample);
}"""


def record(cast: Cast, folder: Path, *, rate: int, session: Session, seconds: float) -> Recording:
    folder.mkdir()
    found = films.record(cast, folder, rate=str(rate), frames=round(seconds * rate))
    found.session = session
    found.save(update_fields=["session"])
    return found


@pytest.fixture
def clip(cast: Cast, own_files: Path) -> Clip:
    """Beside it one of last week, longer at the beginning by a second."""
    words.learn()
    last_week = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course="25 m",
        date=DAY - timedelta(days=7),
        created_by=cast.coach,
        created_at=NOW,
    )
    long = SECONDS + 3
    then = record(cast, own_files / "then", rate=THEN_RATE, session=last_week, seconds=long + 1)
    films.cut(cast, then, first=0, last=round((long + 1) * THEN_RATE) - 1)
    now = record(cast, own_files / "now", rate=NOW_RATE, session=cast.session, seconds=long)
    return films.cut(cast, now, first=0, last=round(long * NOW_RATE) - 1)


@pytest.fixture
def page(open_page, cast: Cast, clip: Clip) -> Page:
    return at_bench(open_page, cast, clip)


def at_bench(open_page, cast: Cast, clip: Clip) -> Page:
    page: Page = open_page(cast.coach)
    page.goto(f"/clips/{clip.code}/")
    ready(page)
    expect(page.get_by_role("button", name="12 Nov beside it")).to_be_visible()
    page.keyboard.press("b")
    expect(page.locator(".other .stage")).to_have_attribute("data-shown", "0")
    return page


def frames_off(lead: float, follow: float) -> int:
    """Between the frame that the follower shows and the one that is due."""
    return abs(int(lead * THEN_RATE + 0.001) - round(follow * THEN_RATE))


def stand(page: Page, mine: int, that: int) -> None:
    expect(page.locator(".stage").first).to_have_attribute("data-shown", str(mine))
    expect(page.locator(".other .stage")).to_have_attribute("data-shown", str(that))
    assert page.evaluate(NUMBERS) == [mine, that]


def test_it_works(page: Page, assert_accessible, shot):
    """Aligned at a chosen frame, the two are stepped together by their times."""
    slider = page.get_by_role("slider", name="Frame of this clip")
    for key, frame in [("ArrowRight", 1), ("PageUp", None), ("ArrowLeft", None)]:
        slider.press(key)
        if frame:
            expect(page.locator(".other .stage")).to_have_attribute("data-shown", str(frame))
    page.evaluate("document.activeElement.blur()")
    at = int(slider.input_value())
    for _press in range(25 - at if at < 25 else 0):
        page.keyboard.press(">")
    for _press in range(at - 25 if at > 25 else 0):
        page.keyboard.press("<")
    stand(page, 0, 25)
    page.evaluate(SEEK, 60)
    stand(page, 60, 50)
    page.keyboard.press("Shift+ArrowRight")
    stand(page, 70, 54)
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    stand(page, 68, 53)
    assert_accessible(page)
    shot(page, "beside-1440-light")
    page.keyboard.press("b")
    expect(page.locator(".other")).to_have_count(0)
    page.keyboard.press("b")
    stand(page, 68, 53)
    page.get_by_role("button", name="12 Nov beside it").click()
    expect(page.locator(".other")).to_have_count(0)


def test_slow_motion_keeps_the_time_of_the_swim(open_page, cast: Cast, clip: Clip):
    """Filmed at twice the rate at which it plays, the other needs two seconds for one."""
    other = Recording.objects.exclude(pk=clip.recording_id)
    other.update(filmed_rate=2 * THEN_RATE)
    page = at_bench(open_page, cast, clip)
    page.evaluate(SEEK, 60)
    stand(page, 60, 50)
    page.evaluate(WATCH)
    page.keyboard.press("l")
    page.wait_for_function("() => pairs.length && pairs.at(-1)[0] - pairs[0][0] > 3")
    page.keyboard.press("k")
    ends = page.evaluate("pairs.at(-1)")
    # Just a frame off counts as within one.
    assert ends[2] == pytest.approx(2 * ends[1], abs=2 * SLOWER + 1e-6)


@pytest.mark.parametrize("speed", ["1", "¼"])
def test_it_stays_within_a_frame(page: Page, speed: str):
    page.get_by_role("button", name=speed, exact=True).click()
    page.evaluate(WATCH)
    page.keyboard.press("l")
    page.wait_for_function(
        "(seconds) => pairs.length && pairs.at(-1)[0] - pairs[0][0] > seconds",
        arg=SECONDS,
        timeout=(SECONDS + 20) * 1000,
    )
    page.keyboard.press("k")
    pairs = page.evaluate("pairs")
    began = pairs[0][0]
    settled = [pair[1:] for pair in pairs if pair[0] - began > SETTLING]
    off = [frames_off(lead, follow) for lead, follow, _apart in settled]
    assert max(abs(apart) for _lead, _follow, apart in settled) <= SLOWER
    # A machine at its limit leaves out paintings, on either side.
    assert sum(frames > 1 for frames in off) <= len(off) * LEFT_OUT
    page.wait_for_function(
        """([now, then]) => {
          const [lead, follow] = [...document.querySelectorAll(".stage")].map(
            (stage) => stage.dataset.shown,
          );
          return Math.abs(lead / now - follow / then) <= 0.5 / then + 0.001;
        }""",
        arg=[NOW_RATE, THEN_RATE],
    )
    lead, follow = page.evaluate(NUMBERS)
    assert abs(lead / NOW_RATE - follow / THEN_RATE) <= SLOWER / 2 + 0.001
