"""The frame shown is the frame asked for, always: read back from the pixels of numbered films."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route

from portal.recordings import preparing
from portal.recordings.models import Rendition
from tests.browser.films import RATES, cut, light_copy, record, show, some_frames
from tests.cast import NOW, Cast
from tests.soak import count

FRAMES = 240
STEPS = 60
Found = list[dict[str, Any]]
pytestmark = pytest.mark.urls("tests.browser.pages")


def seek_all(page: Page, frames: list[int]) -> Found:
    found: Found = page.evaluate(
        """async (frames) => {
          const found = [];
          for (const frame of frames) found.push(await probe.bring(frame));
          return found;
        }""",
        frames,
    )
    return found


def step_all(page: Page, start: int, by: int, times: int) -> Found:
    found: Found = page.evaluate(
        """async ([start, by, times]) => {
          await probe.bring(start);
          const found = [];
          for (let i = 1; i <= times; i += 1) {
            found.push(await probe.bring(start + i * by, "step:request", { by }));
          }
          return found;
        }""",
        [start, by, times],
    )
    return found


def wrong(found: Found) -> Found:
    return [one for one in found if not one["asked"] == one["said"] == one["seen"]]


def shown_frames(page: Page) -> list[int]:
    frames: list[int] = page.evaluate(
        "heard.filter(([name]) => name === 'frame:shown').map(([, { frame }]) => frame)"
    )
    return frames


@pytest.mark.parametrize("rate", [*RATES, "jittered"])
def test_it_works(open_page, cast: Cast, tmp_path: Path, rate: str):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path, rate=rate, frames=FRAMES)))
    found = seek_all(page, some_frames(count(50, 1000), last=FRAMES - 1))
    found += step_all(page, 20, 1, STEPS)
    found += step_all(page, FRAMES - 20, -1, STEPS)
    assert wrong(found) == []
    assert page.evaluate("probe.lies") == []


def test_the_first_and_the_last_frame(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path, rate="jittered", frames=90)))
    assert wrong(seek_all(page, [0, 89, 1, 88, 0])) == []


@pytest.mark.parametrize(("first", "last"), [(0, 59), (100, 219)])
def test_a_clips_own_copy_keeps_the_recordings_numbers(
    open_page, cast: Cast, tmp_path: Path, first: int, last: int
):
    recording = record(cast, tmp_path, rate="jittered", frames=FRAMES)
    clip = cut(cast, recording, first=first, last=last)
    preparing.prepare_clip(clip, at=NOW, report=lambda share: None)
    page = open_page(cast.coach)
    show(page, clip.renditions.get(kind=Rendition.Kind.FULL))
    found = seek_all(page, [first, last, *some_frames(20, first=first, last=last)])
    assert wrong(found) == []
    assert page.locator(".line .slider").get_attribute("aria-valuemin") == str(first)


def test_a_clip_in_the_copy_of_the_whole_recording(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path)), first=60, last=119, frame=90)
    assert page.evaluate("[probe.said(), probe.pixels()]") == [90, 90]
    assert page.evaluate("heard.filter(([name]) => name === 'frame:shown')[0][1].frame") == 90
    outside = page.evaluate(
        """async () => {
          const arrived = probe.until(119);
          probe.ask("seek:request", { frame: 5000 });
          await arrived;
          const back = probe.until(60);
          probe.ask("seek:request", { frame: 3 });
          await back;
          return [probe.said(), probe.pixels()];
        }"""
    )
    assert outside == [60, 60]


def test_of_a_flood_the_last_one_wins(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path, rate="60", frames=FRAMES)))
    frames = [*some_frames(59, last=FRAMES - 1), 137]
    page.evaluate(
        """async (frames) => {
          for (const frame of frames) {
            probe.ask("seek:request", { frame });
            await new Promise((resolve) => setTimeout(resolve, 8));
          }
        }""",
        frames,
    )
    page.wait_for_function("() => player.running === null")
    page.wait_for_timeout(300)
    assert page.evaluate("[probe.said(), probe.pixels(), player.frame]") == [137, 137, 137]
    assert page.evaluate("probe.lies") == []


@pytest.mark.parametrize("rate", ["30", "jittered"])
def test_playing_stops_on_the_last_frame(open_page, cast: Cast, tmp_path: Path, rate: str):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path, rate=rate)), first=30, last=75)
    page.evaluate("probe.ask('rate:request', { rate: 2 }); probe.ask('play:toggle')")
    page.wait_for_function("() => heard.some(([name, { playing }]) => playing)")
    page.wait_for_function("() => !player.isPlaying && player.running === null")
    assert page.evaluate("[probe.said(), probe.pixels()]") == [75, 75]
    shown = shown_frames(page)
    assert min(shown) == 30
    assert max(shown) == 75
    assert len(set(shown)) > 3
    state = page.evaluate("heard.filter(([name]) => name === 'player:state').at(-1)[1]")
    assert state == {"playing": False, "backward": False, "rate": 2, "ready": True}


def test_playing_from_the_end_begins_again(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path)), first=30, last=200, frame=200)
    page.evaluate("probe.ask('play:toggle')")
    page.wait_for_function("() => player.isPlaying && player.frame > 30 && player.frame < 200")
    page.evaluate("probe.ask('play:toggle')")
    page.wait_for_function("() => !player.isPlaying && player.running === null")
    assert page.evaluate("probe.said() === probe.pixels()")


def test_a_loop_goes_round(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path)))
    page.evaluate("probe.ask('loop:request', { first: 50, last: 65 })")
    page.evaluate("player.seek(60); probe.ask('play:toggle')")
    page.wait_for_function(
        """() => {
          const shown = heard.filter(([name]) => name === "frame:shown").map(([, d]) => d.frame);
          return shown.filter((frame, at) => frame < shown[at - 1]).length > 2;
        }"""
    )
    assert page.evaluate("player.isPlaying")
    shown = page.evaluate(
        "heard.filter(([n]) => n === 'frame:shown').slice(2).map(([, d]) => d.frame)"
    )
    assert max(shown) <= 68


def test_a_step_while_playing_pauses_first(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path)))
    page.evaluate("probe.ask('rate:request', { rate: 0.25 }); probe.ask('play:toggle')")
    page.wait_for_function("() => player.isPlaying && player.frame > 5")
    before = page.evaluate(
        "() => { const { frame } = player; probe.ask('step:request', { by: 1 }); return frame; }"
    )
    page.wait_for_function("() => !player.isPlaying && player.running === null")
    assert page.evaluate("[probe.said(), probe.pixels()]") == [before + 1, before + 1]


def test_a_held_arrow_key_stays_smooth(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    show(page, light_copy(record(cast, tmp_path, rate="60")))
    for _ in range(40):
        page.keyboard.down("ArrowRight")
    page.keyboard.up("ArrowRight")
    page.wait_for_function("() => player.running === null")
    assert page.evaluate("[probe.said(), probe.pixels()]") == [40, 40]
    shown = shown_frames(page)
    assert shown == sorted(shown)


MISSING = """
  const own = Object.getOwnPropertyDescriptor(HTMLMediaElement.prototype, "currentTime");
  let sent = 0;
  Object.defineProperty(HTMLMediaElement.prototype, "currentTime", {
    ...own,
    set(seconds) {
      sent += 1;
      own.set.call(this, seconds - (sent % EVERY ? 0 : 0.04));
    },
  });
"""


def test_a_browser_that_misses_is_sent_once_more(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    page.add_init_script(MISSING.replace("EVERY", "2"))
    show(page, light_copy(record(cast, tmp_path, rate="25", frames=100)))
    assert wrong(seek_all(page, some_frames(12, first=1, last=99))) == []
    assert page.evaluate("probe.lies") == []


def test_a_browser_that_always_misses_is_not_believed(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    page.add_init_script(MISSING.replace("EVERY", "1"))
    show(page, light_copy(record(cast, tmp_path, rate="25", frames=100)))
    for frame in (50, 20, 80):
        page.evaluate("(frame) => player.seek(frame)", frame)
        page.wait_for_function("() => player.running === null")
        assert page.evaluate("[probe.said(), probe.pixels()]") == [frame - 1, frame - 1]
    assert page.evaluate("probe.lies") == []


def test_a_browser_that_names_no_frames(open_page, cast: Cast, tmp_path: Path):
    page = open_page(cast.coach)
    page.add_init_script("delete HTMLVideoElement.prototype.requestVideoFrameCallback")
    show(page, light_copy(record(cast, tmp_path, rate="jittered", frames=120)))
    assert wrong(seek_all(page, some_frames(20, last=119))) == []
    page.evaluate("probe.ask('play:toggle')")
    page.wait_for_function(
        "() => !player.isPlaying && player.frame === 119 && player.running === null"
    )


@pytest.mark.parametrize(
    ("missing", "status"), [("film.mp4", 403), ("film.mp4", 404), ("times.json", 404)]
)
def test_a_film_that_cannot_be_had(
    open_page, cast: Cast, tmp_path: Path, missing: str, status: int, assert_accessible
):
    copy = light_copy(record(cast, tmp_path, frames=30))
    page = open_page(cast.coach, forgive=rf"status of {status}.*{missing}")
    page.route(f"**/{missing}", lambda route: route.fulfill(status=status))
    page.goto(f"/player/{copy.code}/")
    page.get_by_role("alert").wait_for()
    assert "cannot be loaded" in page.get_by_role("alert").inner_text()
    assert page.evaluate("heard.filter(([name]) => name === 'player:problem').length") == 1
    assert page.evaluate("heard.some(([name]) => name === 'frame:shown')") is False
    assert_accessible(page)


def test_a_frame_that_is_not_there_yet_is_not_replaced_by_another(
    open_page, cast: Cast, tmp_path: Path
):
    copy = light_copy(record(cast, tmp_path, frames=60))
    page = open_page(cast.coach)
    held: list[Route] = []
    page.route("**/film.mp4", lambda route: held.append(route), times=1)
    with page.expect_request("**/film.mp4"):
        page.goto(f"/player/{copy.code}/?first=10&frame=25")
    plate = page.locator(".plate")
    plate.wait_for()
    assert plate.inner_text() == "frame 15 is on its way"
    while not held:
        page.wait_for_timeout(20)
    held.pop().continue_()
    page.wait_for_function("() => document.querySelector('.stage').dataset.shown === '25'")
    assert plate.is_hidden()
