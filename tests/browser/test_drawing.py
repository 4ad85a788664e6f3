"""Chalk on the frame: by mouse, finger, pen and keys."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Locator, Page, expect

from portal.people.models import User
from portal.recordings.models import Clip
from portal.review import commenting
from portal.review.chalk import Point
from portal.review.models import Comment
from tests.browser import films
from tests.cast import NOW, Cast
from tests.review import words
from tests.review.drawings import ELLIPSE, LINE, SIX
from tests.review.drawings import drawing as of


@pytest.fixture
def clip(cast: Cast, own_files: Path) -> Clip:
    words.learn()
    return films.cut(cast, films.record(cast, own_files), first=20, last=200)


@pytest.fixture
def at_bench(open_page, cast: Cast, clip: Clip):
    """The bench at frame 80, with its picture in sight."""

    def go(user: User | None = None, **how) -> Page:
        page: Page = open_page(user or cast.coach, **how)
        page.goto(f"/clips/{clip.code}/?f=80")
        ready(page)
        return page

    return go


def ready(page: Page) -> None:
    page.wait_for_selector(".line .rope")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "80")
    page.evaluate("document.querySelector('.stage').scrollIntoView({block: 'center'})")


def write(clip: Clip, cast: Cast, **changed) -> Comment:
    fields = {"frame": 80, "verdict": "work on", "tag": "feet-low", **changed}
    return commenting.write(clip, by=cast.coach, at=NOW, **fields)


def spot(page: Page, at: Point) -> Point:
    """A place of the picture, given in shares, in pixels of the window."""
    box = page.locator(".picture").bounding_box()
    assert box is not None
    return box["x"] + at[0] * box["width"], box["y"] + at[1] * box["height"]


def drag(page: Page, *places: Point) -> None:
    page.mouse.move(*spot(page, places[0]))
    page.mouse.down()
    for place in places[1:]:
        page.mouse.move(*spot(page, place), steps=3)
    page.mouse.up()


def tap(page: Page, *places: Point) -> None:
    for place in places:
        page.mouse.click(*spot(page, place))


def take(page: Page, name: str) -> None:
    page.get_by_role("group", name="Draw on the frame").get_by_role(
        "button", name=name, exact=True
    ).click()


def keep(page: Page) -> list[dict[str, Any]]:
    """Keep the comment, and read what is drawn on the only one there is."""
    page.keyboard.press("Control+Enter")
    expect(page.locator(".writing")).to_be_hidden()
    return stored()


def stored() -> list[dict[str, Any]]:
    kept = Comment.objects.get().drawing
    return list(kept["shapes"]) if kept else []


def kinds(shapes: list[dict[str, Any]]) -> str:
    return " ".join(shape["k"] for shape in shapes)


def chalk_on(page: Page) -> Locator:
    """The shapes that are seen on the film, one group each."""
    return page.locator(".board .chalk > g:first-child > g")


def is_about(places: list[Point], expected: list[Point]) -> bool:
    return bool(np.abs(np.array(places) - np.array(expected)).max() < 0.006)


def test_it_works(at_bench, assert_accessible):
    """By mouse, dragged and clicked."""
    page = at_bench()
    page.keyboard.press("d")
    expect(page.get_by_role("heading", name="At 0:02.00")).to_be_visible()
    drag(page, (0.2, 0.3), (0.5, 0.6))
    take(page, "arrow")
    tap(page, (0.6, 0.3), (0.8, 0.6))
    take(page, "stroke")
    drag(page, (0.1, 0.7), (0.2, 0.8), (0.3, 0.7))
    take(page, "angle")
    tap(page, (0.3, 0.3), (0.5, 0.5), (0.7, 0.3))
    expect(page.locator(".board")).to_contain_text("° ± ")
    expect(page.locator("#chalk-hint")).to_contain_text("Angle: tap the end of one leg")
    take(page, "words")
    tap(page, (0.1, 0.2))
    page.keyboard.type("Heels ☃ g w x")
    assert_accessible(page)
    page.keyboard.press("Enter")
    expect(page.get_by_text("What our letters cannot write was left out.")).to_have_count(2)
    take(page, "ring")
    drag(page, (0.7, 0.6), (0.9, 0.9))
    take(page, "undo")
    expect(chalk_on(page)).to_have_count(5)
    take(page, "redo")
    shapes = keep(page)

    assert kinds(shapes) == "line arrow free angle text ellipse"
    assert is_about(shapes[0]["p"], [(0.2, 0.3), (0.5, 0.6)])
    assert is_about(shapes[1]["p"], [(0.6, 0.3), (0.8, 0.6)])
    assert is_about(shapes[2]["p"], [(0.1, 0.7), (0.2, 0.8), (0.3, 0.7)])
    assert shapes[4]["s"] == "Heels  g w x", "single keys are dead while words are written"


def test_it_is_kept_without_asking_and_seen_on_its_frame_alone(at_bench):
    page = at_bench()
    take(page, "line")
    drag(page, (0.2, 0.3), (0.5, 0.6))
    take(page, "ring")
    tap(page, (0.6, 0.3), (0.8, 0.6))
    page.reload()
    ready(page)

    expect(chalk_on(page)).to_have_count(2)
    expect(page.locator(".remarks")).to_contain_text("0:02.00 · with a drawing")
    page.keyboard.press("ArrowRight")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "81")
    expect(chalk_on(page)).to_have_count(0)
    page.keyboard.press("ArrowLeft")
    expect(chalk_on(page)).to_have_count(2)
    page.keyboard.press("Space")
    expect(chalk_on(page)).to_have_count(0)
    assert kinds(stored()) == "line ellipse"


def test_a_tool_brings_the_frame_back_and_is_put_down_when_it_goes(
    at_bench, clip: Clip, cast: Cast
):
    write(clip, cast, drawing=of(LINE))
    page = at_bench()
    page.locator(".tell").click()
    on = page.get_by_role("button", name="one frame on")
    for _ in range(3):
        on.click()
    expect(page.locator(".stage")).to_have_attribute("data-shown", "83")
    expect(chalk_on(page)).to_have_count(0)

    take(page, "arrow")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "80")
    drag(page, (0.3, 0.3), (0.6, 0.3))
    expect(chalk_on(page)).to_have_count(2)
    on.click()

    expect(page.locator(".stage")).to_have_attribute("data-shown", "81")
    expect(chalk_on(page)).to_have_count(0)
    expect(page.locator(".tray [aria-pressed=true]")).to_have_count(0)
    assert kinds(keep(page)) == "line arrow"


def test_by_keys_alone(at_bench, assert_accessible):
    page = at_bench()
    page.keyboard.press("d")
    page.keyboard.press("2")
    for key in ("Shift+ArrowLeft", "Shift+ArrowLeft", "Enter", "Shift+ArrowDown", "Enter"):
        page.keyboard.press(key)
    page.keyboard.press("5")
    for key in ("ArrowUp", "Enter", "Shift+ArrowRight", "Enter", "Shift+ArrowUp", "Enter"):
        page.keyboard.press(key)
    page.keyboard.press("6")
    page.keyboard.press("Enter")
    page.keyboard.type("Long")
    page.keyboard.press("Enter")
    expect(chalk_on(page)).to_have_count(3)
    assert_accessible(page)
    page.keyboard.press("7")
    page.keyboard.press(".")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+Shift+Z")
    for _ in range(2):
        page.keyboard.press(",")
    page.keyboard.press("Delete")
    expect(chalk_on(page)).to_have_count(2)
    page.keyboard.press("g")
    expect(page.get_by_role("heading", name="At 0:02.00")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="arrow", exact=True)).to_have_attribute(
        "aria-pressed", "false"
    )
    shapes = keep(page)

    assert kinds(shapes) == "arrow text"
    left, step = 0.5 - 0.1 / (16 / 9), 0.05 / (16 / 9)
    assert is_about(shapes[0]["p"], [(left + step, 0.5), (left + step, 0.55)])
    assert Comment.objects.get().verdict == "work on", "while drawing, letters are no shortcuts"
    assert page.evaluate("document.activeElement.className") == "stage"


def finger(page: Page, *places: Point) -> None:
    line = page.context.new_cdp_session(page)
    for place in places:
        x, y = spot(page, place)
        kind = "touchStart" if place is places[0] else "touchMove"
        line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def pen(page: Page, *places: Point) -> None:
    line = page.context.new_cdp_session(page)
    how = {"pointerType": "pen", "button": "left", "clickCount": 1}
    for kind, place in [
        ("mousePressed", places[0]),
        *[("mouseMoved", place) for place in places],
        ("mouseReleased", places[-1]),
    ]:
        x, y = spot(page, place)
        line.send("Input.dispatchMouseEvent", {"type": kind, "x": x, "y": y, "buttons": 1, **how})


def test_by_finger(at_bench):
    page = at_bench(phone=True)
    page.locator(".tray").scroll_into_view_if_needed()
    before = page.evaluate("scrollY")
    take(page, "line")
    finger(page, (0.2, 0.2), (0.3, 0.5), (0.3, 0.8))
    expect(chalk_on(page)).to_have_count(1)
    assert page.evaluate("scrollY") == before, "the page stays where it is while a tool is on"
    finger(page, (0.5, 0.2))
    finger(page, (0.6, 0.8))
    expect(chalk_on(page)).to_have_count(2)
    take(page, "angle")
    for place in ((0.3, 0.4), (0.5, 0.6), (0.7, 0.4)):
        finger(page, place)
    expect(page.locator(".board")).to_contain_text("± ")
    take(page, "done")
    assert page.evaluate("getComputedStyle(document.querySelector('.board')).touchAction") == "auto"
    shapes = keep(page)

    assert kinds(shapes) == "line line angle"
    assert is_about(shapes[0]["p"], [(0.2, 0.2), (0.3, 0.8)])
    assert is_about(shapes[1]["p"], [(0.5, 0.2), (0.6, 0.8)])
    box = page.locator(".tray button").first.bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 44


def test_beside_a_pen_a_palm_draws_nothing(at_bench):
    page = at_bench(phone=True)
    take(page, "line")
    pen(page, (0.7, 0.2), (0.8, 0.8))
    expect(chalk_on(page)).to_have_count(1)
    finger(page, (0.1, 0.9), (0.9, 0.9))
    pen(page, (0.4, 0.2))
    pen(page, (0.5, 0.4))
    expect(chalk_on(page)).to_have_count(2)
    shapes = keep(page)

    assert kinds(shapes) == "line line"
    assert is_about(shapes[0]["p"], [(0.7, 0.2), (0.8, 0.8)])
    assert is_about(shapes[1]["p"], [(0.4, 0.2), (0.5, 0.4)])


def test_it_follows_the_picture_and_can_be_changed(at_bench, clip: Clip, cast: Cast):
    """Drawn near it stays where it was drawn; picked, moved and rubbed out."""
    write(clip, cast, last_frame=100, drawing=of(LINE, ELLIPSE))
    page = at_bench()
    page.locator(".tell").click()
    expect(chalk_on(page)).to_have_count(2)
    page.keyboard.press("Escape")
    for _ in range(4):
        page.keyboard.press("+")
    near, film = (page.locator(name).bounding_box() for name in (".board svg", ".stage video"))
    assert near == film
    page.locator(".tell").click()
    take(page, "move")
    drag(page, (0.5, 0.49), (0.5, 0.39))
    take(page, "ring")
    drag(page, (0.4, 0.4), (0.6, 0.6))
    take(page, "move")
    tap(page, (0.5, 0.6))
    take(page, "rub out")
    expect(chalk_on(page)).to_have_count(2)
    page.evaluate(
        "document.querySelector('.stage')"
        ".dispatchEvent(new CustomEvent('seek:request', {detail: {frame: 95}}))"
    )
    expect(page.locator(".stage")).to_have_attribute("data-shown", "95")
    expect(chalk_on(page)).to_have_count(2)
    shapes = keep(page)

    assert kinds(shapes) == "line ellipse"
    assert is_about(shapes[0]["p"], [(0.1, 0.6), (0.85, 0.22)])
    assert shapes[1] == ELLIPSE


def test_two_hands_see_both_drawings(at_bench, clip: Clip, cast: Cast):
    comment = write(clip, cast, words="Mine.", drawing=of(LINE))
    page = at_bench(forgive="409")
    page.route("**/comments.json", lambda route: route.fulfill(status=304))
    page.locator(".tell").click()
    take(page, "arrow")
    commenting.change(comment, version=1, by=cast.assistant, at=NOW, drawing=of(LINE, ELLIPSE))
    drag(page, (0.2, 0.2), (0.4, 0.4))

    hands = page.locator("[data-two-hands]")
    expect(hands).to_be_visible()
    expect(hands.locator("svg")).to_have_count(2)
    expect(hands.locator("[data-yours] svg > g")).to_have_count(2)
    hands.get_by_role("button", name="Put both").click()
    expect(hands).to_be_hidden()
    expect(chalk_on(page)).to_have_count(3)
    assert kinds(keep(page)) == "line ellipse arrow"


def test_a_lost_line_loses_no_stroke(at_bench):
    page = at_bench(forgive="ERR_INTERNET_DISCONNECTED")
    page.keyboard.press("d")
    page.context.set_offline(True)
    drag(page, (0.2, 0.3), (0.5, 0.6))
    expect(page.get_by_text("No connection.")).to_be_visible()
    assert not Comment.objects.exists()

    page.context.set_offline(False)

    expect(page.get_by_text("No connection.")).to_be_hidden()
    assert kinds(stored()) == "line"


@pytest.mark.parametrize(
    ("width", "height", "dark"),
    [(1440, 900, False), (720, 450, True), (360, 740, False)],
    ids=["desk", "desk at 200 %", "phone"],
)
def test_it_looks_right(
    at_bench, clip: Clip, cast: Cast, shot, width: int, height: int, dark: bool
):
    write(clip, cast, drawing=SIX["mixed"])
    page = at_bench(width=width, height=height, dark=dark)
    page.locator(".tell").click()
    take(page, "move")
    tap(page, (0.45, 0.2))
    shot(page, f"drawing-{width}-{'dark' if dark else 'light'}")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    film, tray = (page.locator(name).bounding_box() for name in (".stage", ".tray"))
    assert film is not None
    assert tray is not None
    assert tray["y"] >= film["y"] + film["height"] or tray["x"] >= film["x"] + film["width"]
