"""A coach who watches: near and whole, round and round, faster and slower, and on the clock."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from portal.recordings.models import Clip
from portal.review.models import Mark
from tests.browser import films
from tests.browser.test_bench import go_to, ready
from tests.cast import Cast
from tests.review import words

KEYS = "J K L I O R + − 0 F B < > T Z G W X S N D , . Alt Shift Esc"
# Where the picture and what lies in it are seen, as shares of the stage.
SEEN = """() => {
  const stage = document.querySelector(".stage").getBoundingClientRect();
  const boxes = [".picture video", ".picture .board"].map((name) => {
    const { x, y, width, height } = document.querySelector(name).getBoundingClientRect();
    return [(x - stage.x) / stage.width, (y - stage.y) / stage.height, width, height];
  });
  return { video: boxes[0], board: boxes[1], stage: [stage.width, stage.height] };
}"""


@pytest.fixture
def clip(cast: Cast, own_files: Path) -> Clip:
    words.learn()
    return films.cut(cast, films.record(cast, own_files), first=20, last=200)


@pytest.fixture
def at_bench(open_page, cast: Cast, clip: Clip):
    def go(**how: Any) -> Page:
        page: Page = open_page(cast.coach, **how)
        page.goto(f"/clips/{clip.code}/")
        ready(page)
        return page

    return go


def scale(page: Page) -> float:
    """How near the picture is; what is drawn on it has the very same edges."""
    seen = page.evaluate(SEEN)
    assert seen["video"] == pytest.approx(seen["board"], abs=0.5)
    width: float = seen["video"][2]
    whole: float = min(seen["stage"][0], seen["stage"][1] * 16 / 9)
    return width / whole


def left(page: Page) -> float:
    edge: float = page.evaluate(SEEN)["video"][0]
    return edge


def shown(page: Page) -> int:
    return int(page.locator(".stage").get_attribute("data-shown") or -1)


def stops(page: Page) -> int:
    """The frame that stands once nothing moves any more."""
    expect(page.locator("[data-do=play]")).to_have_attribute("aria-pressed", "false")
    page.wait_for_function(
        """() => {
          const now = document.querySelector(".stage").dataset.shown;
          const same = window.before === now;
          window.before = now;
          return same && !document.querySelector("video").seeking;
        }""",
        polling=150,
    )
    return shown(page)


def test_it_works(at_bench, assert_accessible):
    """Near and back by keys, buttons and wheel; what is drawn comes along."""
    page = at_bench()
    assert scale(page) == pytest.approx(1)
    page.keyboard.press("+")
    page.keyboard.press("=")
    assert scale(page) == pytest.approx(1.25**2, rel=1e-4)
    before = left(page)
    page.keyboard.press("Alt+ArrowRight")
    assert left(page) < before
    page.keyboard.press("Alt+ArrowLeft")
    assert left(page) == pytest.approx(before)
    page.get_by_role("button", name="nearer").click()
    assert scale(page) == pytest.approx(1.25**3, rel=1e-4)
    assert_accessible(page)
    page.keyboard.press("0")
    assert scale(page) == pytest.approx(1)
    expect(page.get_by_role("button", name="farther")).to_have_attribute("aria-disabled", "true")


def test_the_wheel_and_a_mouse(at_bench):
    page = at_bench()
    box = page.locator(".stage").bounding_box()
    assert box
    corner = (box["x"] + box["width"] * 0.9, box["y"] + box["height"] * 0.5)
    page.mouse.move(*corner)
    page.mouse.wheel(0, 40)
    page.wait_for_function("() => scrollY === 40")
    page.mouse.wheel(0, -40)
    page.wait_for_function("() => scrollY === 0")
    assert scale(page) == pytest.approx(1), "the wheel is the page's"
    page.keyboard.down("Control")
    page.mouse.wheel(0, -400)
    page.keyboard.up("Control")
    page.wait_for_function("() => document.querySelector('.stage').hasAttribute('data-near')")
    seen = page.evaluate(SEEN)["video"]
    assert (0.9 - seen[0]) * box["width"] / seen[2] == pytest.approx(0.9, abs=0.01)

    held = left(page)
    page.mouse.down()
    page.mouse.move(corner[0] + 60, corner[1], steps=4)
    page.mouse.up()
    assert left(page) == pytest.approx(held + 60 / box["width"], abs=0.01)
    page.mouse.click(box["x"] + box["width"] * 0.2, box["y"] + box["height"] / 2)
    assert left(page) > held + 60 / box["width"], "a tap puts that place in the middle"
    page.keyboard.press("ArrowRight")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "21")


def test_two_fingers_draw_it_near_and_one_moves_it(at_bench):
    page = at_bench(phone=True)
    page.locator(".stage").scroll_into_view_if_needed()
    box = page.locator(".stage").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    hand = page.context.new_cdp_session(page)

    def touch(kind: str, *places: float) -> None:
        points = [{"x": at, "y": y, "id": number} for number, at in enumerate(places)]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", x - 20, x + 20)
    for apart in (30, 40, 50, 60):
        touch("touchMove", x - apart, x + apart)
    touch("touchEnd")
    assert scale(page) == pytest.approx(3, rel=0.1)
    before = left(page)
    touch("touchStart", x)
    for by in (10, 20, 40):
        touch("touchMove", x - by)
    touch("touchEnd")
    assert left(page) == pytest.approx(before - 40 / box["width"], abs=0.03)


def test_round_a_stretch_by_keys_and_buttons(at_bench):
    page = at_bench()
    go_to(page, 60)
    page.keyboard.press("i")
    expect(page.get_by_role("button", name="loop", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )
    go_to(page, 70)
    page.keyboard.press("o")
    assert page.locator(".rope .loop").count() == 1
    page.evaluate(
        """() => {
          window.seen = [];
          document.querySelector(".stage").addEventListener("frame:shown", (event) =>
            seen.push(event.detail.frame));
        }"""
    )
    page.keyboard.press("Space")
    page.wait_for_function("() => seen.filter((one, at) => one < seen[at - 1]).length > 2")
    page.keyboard.press("Space")
    stops(page)
    frames = page.evaluate("seen")
    assert min(frames) >= 60
    assert max(frames) <= 73
    page.keyboard.press("r")
    assert page.locator(".rope .loop").count() == 0
    page.get_by_role("button", name="loop", exact=True).click()
    assert page.locator(".rope .loop").count() == 1
    page.get_by_role("button", name="loop", exact=True).click()
    go_to(page, 100)
    page.get_by_role("button", name="to here").click()
    go_to(page, 90)
    page.get_by_role("button", name="from here").click()
    assert page.locator(".rope .loop").count() == 1


def test_forth_and_back_and_faster(at_bench):
    page = at_bench()
    go_to(page, 100)
    rate = "document.querySelector('video').playbackRate"
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("l")
    page.wait_for_function("() => document.querySelector('.stage').dataset.shown > 103")
    assert page.evaluate(rate) == 0.25
    page.keyboard.press("l")
    assert page.evaluate(rate) == 0.5
    page.keyboard.press("k")
    there = stops(page)
    page.keyboard.press("j")
    expect(page.locator("[data-do=play]")).to_have_attribute("aria-pressed", "true")
    page.wait_for_function(
        "(there) => document.querySelector('.stage').dataset.shown < there", arg=there
    )
    page.keyboard.press("j")
    expect(page.get_by_role("button", name="1", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )
    page.keyboard.press("k")
    back = stops(page)
    assert back < there
    page.keyboard.press("j")
    assert stops(page) == 20, "the beginning of the clip"


def test_the_whole_screen_is_left_for_writing(at_bench):
    page = at_bench()
    page.keyboard.press("f")
    page.wait_for_function("() => document.fullscreenElement && innerHeight === 900")
    assert page.evaluate(SEEN)["stage"] == [1440, 900]
    page.keyboard.press("ArrowRight")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "21")
    assert scale(page) == pytest.approx(1)
    page.keyboard.press("g")
    page.wait_for_function("() => document.fullscreenElement === null")
    expect(page.locator(".stage[data-whole]")).to_have_count(0)
    page.keyboard.press("Escape")
    for key in ("f", "Escape"):
        page.keyboard.press("f")
        expect(page.locator(".stage[data-whole]")).to_have_count(1)
        page.keyboard.press(key)
        expect(page.locator(".stage[data-whole]")).to_have_count(0)


def test_marks_and_their_figures(at_bench, clip: Clip, assert_accessible, shot):
    page = at_bench()
    for frame, key in [(40, "3"), (85, "7"), (100, "8"), (160, "8")]:
        go_to(page, frame)
        if frame == 40:
            page.keyboard.press(key)
            assert not Mark.objects.exists(), "the sheet is not open"
            page.keyboard.press("t")
        page.keyboard.press(key)
    sheet = page.get_by_role("region", name="Timing")
    expect(sheet.locator("[data-set] li")).to_have_count(4)
    expect(sheet.locator("dt")).to_have_text(["Under water", "Stroke rate", "Cycle time"])
    expect(sheet.locator("dd").first).to_contain_text("1.50 s")
    expect(sheet.locator("dd").first).to_contain_text("at most 0.04 s off")
    assert page.locator(".rope .ticks path").count() == 4
    assert_accessible(page)
    shot(page, "timing-1440-light")


def test_marks_are_counted_taken_away_and_set_back(at_bench, clip: Clip):
    page = at_bench()
    page.keyboard.press("t")
    sheet = page.get_by_role("region", name="Timing")
    for frame, key in [(40, "3"), (100, "8"), (160, "8")]:
        go_to(page, frame)
        page.keyboard.press(key)
    expect(sheet.locator("[data-set] li")).to_have_count(3)
    number = sheet.get_by_label("cycle: hand enters").last
    number.fill("3")
    number.press("Tab")
    expect(sheet.locator("dd").first).to_contain_text("60.0 a minute")
    sheet.get_by_role("button", name="take away: hand enters, 0:02.67").click()
    expect(sheet.locator("[data-set] li")).to_have_count(2)
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("z")
    expect(sheet.locator("[data-set] li")).to_have_count(3)
    page.keyboard.press("z")
    expect(sheet.locator("dd").first).to_contain_text("30.0 a minute")
    sheet.get_by_role("button", name="0:00.67 feet leave the wall").click()
    expect(page.locator(".stage")).to_have_attribute("data-shown", "40")
    page.keyboard.press("g")
    expect(sheet).to_be_hidden()
    assert clip.marks.standing().count() == 3
    page.reload()
    ready(page)
    expect(page.locator(".rope .ticks path")).to_have_count(3)


def test_a_mark_that_could_not_be_sent_says_so(at_bench):
    page = at_bench(forgive="ERR_INTERNET_DISCONNECTED")
    page.keyboard.press("t")
    page.context.set_offline(True)
    page.keyboard.press("2")
    expect(page.get_by_text("this mark is not kept")).to_be_visible()
    page.context.set_offline(False)
    page.keyboard.press("2")
    expect(page.locator("[data-set] li")).to_have_count(1)


def test_every_key_stands_in_the_list_and_can_be_switched_off(at_bench):
    page = at_bench()
    page.keyboard.press("?")
    dialog = page.get_by_role("dialog", name="Keys")
    caps = " ".join(dialog.locator("kbd").all_inner_texts())
    for key in KEYS.split():
        assert key in caps, key
    dialog.get_by_label("Keys are on").uncheck()
    dialog.get_by_role("button", name="Close").click()
    for key in ("t", "+", "l", "i", "ArrowRight"):
        page.keyboard.press(key)
    assert scale(page) == pytest.approx(1)
    assert page.locator(".rope .loop").count() == 0
    expect(page.get_by_role("region", name="Timing")).to_be_hidden()
    assert shown(page) == 20
    page.reload()
    ready(page)
    page.keyboard.press("ArrowRight")
    assert shown(page) == 20, "it is kept"


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 720, 1440])
def test_narrow_and_wide_by_day_and_by_night(
    at_bench, shot, assert_accessible, width: int, dark: bool
):
    """720 is a window of 1440 at 200 %."""
    page = at_bench(width=width, height=450 if width == 720 else 900, dark=dark)
    page.get_by_role("button", name="time it").click()
    page.get_by_role("button", name="feet leave the wall").click()
    expect(page.locator("[data-set] li")).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    assert page.locator(".rope .strip image").count() >= 5
    expect(page.get_by_role("button", name="All keys")).to_be_visible()
    shot(page, f"timing-{width}-{'dark' if dark else 'light'}", whole=True)
    assert_accessible(page)
