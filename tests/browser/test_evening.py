"""What an evening costs in key presses, and what of it survives when the server does not."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from portal.recordings.models import Clip
from portal.review.models import Comment, Review
from tests.browser import films
from tests.browser.test_bench import ready
from tests.cast import Cast
from tests.review import words

MOST = 45
"""Key presses and clicks for a whole review."""


@dataclass
class Counted:
    """A person who counts: a key, a click, or the typing in one field is one each."""

    page: Page
    acts: int = 0

    def press(self, key: str) -> None:
        self.acts += 1
        self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.acts += 1
        self.page.keyboard.type(text)

    def click(self, place: Locator, at: tuple[float, float] | None = None) -> None:
        """`at` in shares of the width and height."""
        self.acts += 1
        if at is None:
            place.click()
            return
        box = place.bounding_box()
        assert box
        self.page.mouse.click(box["x"] + at[0] * box["width"], box["y"] + at[1] * box["height"])


@pytest.fixture
def clip(cast: Cast, own_files: Path) -> Clip:
    words.learn()
    return films.cut(cast, films.record(cast, own_files), first=20, last=200)


def test_a_review_takes_few_key_presses(open_page, cast: Cast, clip: Clip):
    """From the desk: three comments with tags and words, one with a drawing and as the focus, and
    out it goes."""
    page: Page = open_page(cast.coach)
    page.goto("/")
    expect(page.get_by_role("link", name="Begin with Ines")).to_be_visible()
    coach = Counted(page)

    coach.press("n")
    ready(page)
    comment(coach, "g", "he", "Close on every kick.")
    comment(coach, "w", "fe", "Half way up, so the push is short.", draws=True)
    comment(coach, "x", "do", "The feet beat down twice off this wall.")
    coach.click(page.get_by_role("link", name="Check and publish"))
    coach.click(page.get_by_role("radio", name=re.compile("The focus.*Heels close")))
    coach.click(page.get_by_role("button", name="Publish"))

    expect(page.get_by_text("mails are on their way")).to_be_visible()
    assert coach.acts <= MOST
    said = Comment.objects.order_by("frame")
    assert [each.verdict for each in said] == ["good", "work on", "not legal"]
    assert all(each.tag and each.words for each in said)
    assert [bool(each.drawing) for each in said] == [False, True, False]
    review = Review.objects.get()
    assert (review.state, review.focus) == (Review.State.PUBLISHED, said[1])


def comment(coach: Counted, verdict: str, tag: str, said: str, *, draws: bool = False) -> None:
    for _ in range(3):
        coach.press("Shift+ArrowRight")
    coach.press(verdict)
    coach.type(tag)
    coach.press("Enter")
    coach.type(said)
    if draws:
        tray = coach.page.get_by_role("group", name="Draw on the frame")
        coach.click(tray.get_by_role("button", name="arrow"))
        stage = coach.page.locator(".stage")
        coach.click(stage, (0.3, 0.7))
        coach.click(stage, (0.5, 0.5))
    coach.press("Control+Enter")
    expect(coach.page.locator(".writing")).to_be_hidden()
