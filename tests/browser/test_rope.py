"""The lane rope, the near rope, the drive row and the keys, as people use them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from portal.recordings.models import Rendition
from tests.browser import pages
from tests.browser.films import light_copy, record, show
from tests.cast import Cast

pytestmark = pytest.mark.urls("tests.browser.pages")


def comment(code: str, frame: int, words: str, sign: str, **more: object) -> dict[str, object]:
    return {"code": code, "frame": frame, "words": words, "sign": sign, "said": sign, **more}


COMMENTS = [
    comment("a", 20, "Tight line off the wall", "good"),
    comment("b", 64, "Two dolphin kicks", "not legal", focus=True),
    comment("c", 110, "Line after the kick", "good"),
    comment("d", 160, "Feet not brought up to the hips", "work on", note="being written"),
    comment(
        "e", 230, "Kick not finished", "work on", last_frame=270, note="draft by Dov", draft=True
    ),
]


@pytest.fixture
def copy(cast: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Rendition:
    """Twelve seconds at 25 frames a second, with five comments on it."""
    monkeypatch.setattr(pages, "pennants", COMMENTS)
    return light_copy(record(cast, tmp_path, rate="25", frames=300))


@pytest.fixture
def page(open_page, cast: Cast, copy: Rendition) -> Page:
    page: Page = open_page(cast.coach, height=1100)
    show(page, copy)
    return page


def arrive(page: Page, frame: int) -> None:
    page.wait_for_function(
        "(frame) => document.querySelector('.stage').dataset.shown === String(frame)"
        " && player.running === null",
        arg=frame,
    )
    assert page.evaluate("probe.pixels()") == frame


def slider(page: Page) -> Any:
    return page.get_by_role("slider", name="Time line")


def test_it_works(page: Page, assert_accessible):
    rope = slider(page)
    assert rope.get_attribute("aria-valuetext") == "0:00.00, frame 0 of 300"
    page.evaluate("player.seek(186)")
    arrive(page, 186)
    assert rope.get_attribute("aria-valuetext") == "0:07.44, frame 186 of 300"
    assert rope.get_attribute("aria-valuenow") == "186"
    assert page.locator(".clock").inner_text().split() == ["0:07.44", "frame", "186", "of", "300"]
    assert page.locator(".pin").count() == len(COMMENTS)
    assert page.locator("[style*=stroke], svg[style]").count() == 0
    assert_accessible(page)


def test_its_keys(page: Page):
    slider(page).focus()
    for key, frame in [
        ("End", 299),
        ("PageDown", 274),
        ("ArrowLeft", 273),
        ("Shift+ArrowLeft", 263),
        ("Home", 0),
        ("ArrowRight", 1),
        ("Shift+ArrowUp", 11),
        ("PageUp", 36),
    ]:
        page.keyboard.press(key)
        arrive(page, frame)


def test_a_tap_and_a_drag_seek(page: Page):
    box = slider(page).bounding_box()
    assert box
    middle = box["x"] + box["width"] / 2
    page.mouse.click(middle, box["y"] + 28)
    page.wait_for_function("() => player.running === null && player.frame > 100")
    assert abs(page.evaluate("player.frame") - 149) <= 1
    page.mouse.move(middle, box["y"] + 28)
    page.mouse.down()
    page.mouse.move(middle + 50, box["y"] + 28, steps=5)
    page.mouse.move(box["x"] + box["width"], box["y"] + 28, steps=5)
    page.mouse.up()
    arrive(page, 299)


def test_a_pennant_opens_and_seeks(page: Page):
    page.get_by_role("button", name="not legal: Two dolphin kicks").click()
    arrive(page, 64)
    opened = page.evaluate("heard.filter(([name]) => name === 'pennant:open')")
    assert opened == [["pennant:open", {"code": "b"}]]


def test_the_states_of_pennants(page: Page):
    assert page.locator(".pin.focus .band").count() == 1
    assert page.locator(".pin.draft .span").count() == 1
    assert page.locator(".pin.now").count() == 1
    page.evaluate("rope.setNow('a')")
    assert page.locator(".tell.now").inner_text().splitlines()[:2] == [
        "good:",
        "Tight line off the wall",
    ]
    assert page.locator(".tell").last.inner_text().endswith("0:09.20 to 0:10.80 · draft by Dov")
    page.evaluate("rope.setPennants([])")
    assert page.locator(".pin, .tell").count() == 0


def test_signs_on_cloth_keep_the_colours_of_the_day(open_page, cast: Cast, copy: Rendition):
    page = open_page(cast.coach, dark=True)
    show(page, copy)
    colours = page.evaluate(
        """() => ["good", "work-on"].map((name) => {
          const shape = document.querySelector(`#sign-${name}`).firstElementChild;
          return shape.getAttribute("fill") + shape.getAttribute("stroke");
        })"""
    )
    assert colours == ["none#0072b2", "#d55e00null"]


def test_words_that_find_no_room_come_with_the_focus(page: Page):
    page.evaluate(
        """() => rope.setPennants([0, 1, 2, 3, 4, 5].map((at) => ({
          code: String(at), frame: 150 + 14 * Math.floor(at / 2) + (at % 2), sign: "good",
          words: `Said at ${at}`,
        })))"""
    )
    hidden = page.locator(".tell[data-side^=none]").last
    assert hidden.locator(".words").evaluate("(node) => getComputedStyle(node).opacity") == "0"
    page.keyboard.press("Tab")
    hidden.focus()
    assert hidden.locator(".words").evaluate("(node) => getComputedStyle(node).opacity") == "1"
    boxes = page.locator(".pin .cloth").evaluate_all(
        "(all) => all.map((node) => [node.getBBox().x, node.getBBox().y])"
    )
    assert len({(round(x), round(y)) for x, y in boxes}) == 6


def test_pennants_that_are_hung_anew_keep_the_focus(page: Page):
    tell = page.get_by_role("button", name="Line after the kick")
    tell.focus()
    page.evaluate("rope.setPennants(rope.pennants.map((one) => ({ ...one, note: 'seen' })))")
    assert tell.evaluate("(node) => node === document.activeElement")
    assert tell.inner_text().endswith("seen")


def test_the_near_rope(page: Page):
    page.evaluate("player.seek(100)")
    arrive(page, 100)
    near = page.get_by_role("slider", name="Frame")
    box = near.bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] / 2 + 53, box["y"] + 16)
    arrive(page, 105)
    page.get_by_role("button", name="one frame back").click()
    arrive(page, 104)
    near.focus()
    page.keyboard.press("ArrowRight")
    arrive(page, 105)
    page.keyboard.press("Home")
    arrive(page, 0)
    assert page.locator(".near-rope rect[visibility=visible]").count() == 15


def test_the_drive_row(page: Page):
    page.get_by_role("button", name="¼").click()
    play = page.get_by_role("button", name="play")
    play.click()
    page.wait_for_function("() => player.isPlaying && player.frame > 2")
    assert play.get_attribute("aria-pressed") == "true"
    assert page.evaluate("player.video.playbackRate") == 0.25
    play.click()
    expect(play).to_have_attribute("aria-pressed", "false")
    assert page.evaluate("player.isPlaying") is False
    assert page.get_by_role("button", name="¼").get_attribute("aria-pressed") == "true"


def test_keys_are_dead_while_somebody_writes(page: Page):
    page.get_by_label("Words").focus()
    page.keyboard.type("a b")
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("heard.some(([, { playing }]) => playing)") is False
    page.get_by_label("Words").blur()
    page.keyboard.press("ArrowRight")
    arrive(page, 1)


def test_keys_can_be_switched_off(page: Page, assert_accessible):
    page.keyboard.press("?")
    dialog = page.get_by_role("dialog", name="Keys")
    assert dialog.locator("dd").all_inner_texts() == ["one frame", "play"]
    assert_accessible(page)
    dialog.get_by_label("Keys are on").uncheck()
    dialog.get_by_role("button", name="Close").click()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("?")
    assert dialog.is_hidden()
    assert page.evaluate("[player.target, localStorage['flagline-keys']]") == [0, "off"]
    page.get_by_role("button", name="Keys").click()
    dialog.get_by_label("Keys are on").check()
    page.keyboard.press("Escape")
    page.keyboard.press("ArrowRight")
    arrive(page, 1)


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 1440])
def test_narrow_and_wide_by_day_and_by_night(
    open_page, cast: Cast, copy: Rendition, shot, assert_accessible, dark: bool, width: int
):
    page = open_page(cast.coach, width=width, dark=dark)
    show(page, copy, frame=160)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    shot(page, f"player-{width}-{'dark' if dark else 'light'}", whole=True)
    assert_accessible(page)


def test_under_a_finger(open_page, cast: Cast, copy: Rendition, shot):
    page = open_page(cast.coach, phone=True)
    show(page, copy)
    heights = page.locator(".drive button, .tell").evaluate_all(
        "(all) => all.map((node) => node.getBoundingClientRect().height)"
    )
    assert min(heights) >= 44
    assert slider(page).bounding_box()["height"] >= 44
    slider(page).tap()
    page.wait_for_function("() => player.running === null && player.frame > 100")
    shot(page, "player-phone")
