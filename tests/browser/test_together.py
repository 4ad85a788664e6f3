"""Two people on one clip, the same remark for others, and on to the next swimmer."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from portal.recordings.models import Clip
from portal.review import commenting
from portal.review.models import Comment, Review
from tests.browser import films
from tests.browser.test_bench import FEET, go_to, kept, ready
from tests.cast import NOW, Cast
from tests.review import words

SEEN = "Seen, and why it matters"


@pytest.fixture
def clips(cast: Cast, own_files: Path) -> list[Clip]:
    """Of Ines and of Noor."""
    words.learn()
    recording = films.record(cast, own_files)
    mates = films.cut(cast, recording, first=201, last=260)
    mates.swimmers.set([cast.mate])
    return [films.cut(cast, recording, first=20, last=200), mates]


def bench(open_page, user, clip: Clip, **how: Any) -> Page:
    page: Page = open_page(user, **how)
    page.goto(f"/clips/{clip.code}/")
    ready(page)
    return page


def say(page: Page, key: str, tag: str, said: str) -> None:
    page.keyboard.press(key)
    page.keyboard.type(tag)
    page.keyboard.press("Enter")
    page.keyboard.type(said)
    page.keyboard.press("Control+Enter")
    expect(page.locator(".writing")).to_be_hidden()


def test_two_hear_each_other_and_nothing_is_lost(open_page, cast: Cast, clips: list[Clip]):
    coach = bench(open_page, cast.coach, clips[0], forgive="409")
    assistant = bench(open_page, cast.assistant, clips[0])

    say(assistant, "w", "fe", "Half way up.")

    row = coach.locator(".remarks a")
    expect(row).to_contain_text("Half way up.", timeout=3000)
    expect(coach.locator(".tell")).to_contain_text("by Dov")
    expect(coach.get_by_text(f"Dov kept “{FEET}”.")).to_be_attached()
    row.click()
    coach.locator("[data-when]").focus()
    coach.keyboard.press("Escape")
    say(coach, "g", "he", "Close on this one.")
    expect(assistant.locator(".remarks a")).to_have_count(2, timeout=3000)

    # One reads what the other goes on writing.
    assistant.locator(".remarks a", has_text="Half way up.").click()
    row.first.click()
    coach.locator("body").click(position={"x": 4, "y": 4})
    assistant.locator("#words").fill("Half way up, on every kick.")
    kept(assistant)
    expect(coach.get_by_label(SEEN)).to_have_value("Half way up, on every kick.", timeout=3000)

    # Both write: nobody's words are overwritten.
    coach.get_by_label(SEEN).focus()
    assistant.locator("#words").fill("The assistant’s words.")
    kept(assistant)
    coach.get_by_label(SEEN).fill("The coach’s words.")
    expect(coach.get_by_text("Another wording was kept")).to_be_visible()
    expect(coach.locator("[data-yours]")).to_contain_text("The coach’s words.")
    expect(coach.locator("[data-theirs]")).to_contain_text("The assistant’s words.")


def test_what_another_drops_goes(open_page, cast: Cast, clips: list[Clip]):
    said: dict[str, Any] = {"frame": 60, "verdict": "work on", "tag": "feet-low", "words": "Half."}
    comment = commenting.write(clips[0], by=cast.assistant, at=NOW, **said)
    page = bench(open_page, cast.coach, clips[0])
    page.locator(".remarks a").click()
    page.locator("body").click(position={"x": 4, "y": 4})

    commenting.drop(comment, by=cast.assistant, at=NOW)

    expect(page.get_by_text("Dropped by somebody else.")).to_be_visible(timeout=3000)
    expect(page.locator(".remarks a")).to_have_count(0)
    expect(page.locator(".writing")).to_be_hidden()


def test_a_stretch_by_keys_with_a_note_for_staff(open_page, cast: Cast, clips: list[Clip]):
    page = bench(open_page, cast.coach, clips[0])
    go_to(page, 60)
    page.keyboard.press("s")
    expect(page.get_by_text("A stretch from 0:01.33.")).to_be_visible()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("w")
    expect(page.get_by_role("heading", name="0:01.33 to 0:02.00")).to_be_visible()
    page.keyboard.type("fe")
    page.keyboard.press("Enter")
    page.get_by_text("Note for staff alone", exact=True).first.click()
    page.get_by_label("Note for staff alone").fill("Ask about the knee.")
    page.keyboard.press("Control+Enter")
    expect(page.locator(".writing")).to_be_hidden()

    comment = Comment.objects.get()
    assert (comment.frame, comment.last_frame) == (60, 80)
    assert comment.staff_note == "Ask about the knee."
    page.locator(".remarks a").click()
    expect(page.get_by_label("Note for staff alone")).to_have_value("Ask about the knee.")


def test_the_same_for_others_and_on_to_the_next(
    open_page, cast: Cast, clips: list[Clip], assert_accessible
):
    page = bench(open_page, cast.coach, clips[0])
    page.keyboard.press("w")
    page.keyboard.type("fe")
    page.keyboard.press("Enter")
    page.keyboard.type("Half way up.")
    page.get_by_text("Same remark for others").click()
    page.get_by_role("group", name="Same remark for").get_by_label("Noor").check()
    assert_accessible(page)
    page.get_by_role("button", name="Say it to them too").click()
    expect(page.get_by_text("Said to Noor too, as notes without film.")).to_be_visible()
    twin = Comment.objects.get(clip=None)
    assert (twin.words, str(twin.fault)) == ("Half way up.", FEET)
    assert twin.reviews.get().swimmer == cast.mate

    page.locator("[data-told]").get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    twin.refresh_from_db()
    assert twin.dropped_at

    # In the middle of a word, and nothing of it is lost.
    page.get_by_label(SEEN).fill("Half way up, both feet")
    page.get_by_role("link", name="Next: Noor").click()
    page.wait_for_url(f"**/clips/{clips[1].code}/")
    assert Comment.objects.get(clip=clips[0]).words == "Half way up, both feet"


def test_an_assistant_drafts_and_the_coach_checks_by_keys(open_page, cast: Cast, clips: list[Clip]):
    assistant = bench(open_page, cast.assistant, clips[0])
    say(assistant, "w", "fe", "Half way up.")
    assistant.get_by_role("button", name="Drafted, please check").click()
    expect(assistant.get_by_text("Handed over")).to_be_visible()

    coach: Page = open_page(cast.coach)
    coach.goto("/")
    expect(coach.get_by_role("heading", name="Drafts to check")).to_be_visible()
    coach.keyboard.press("n")
    coach.wait_for_url("**/publish/")
    coach.get_by_role("button", name="Checked, not yet out").click()
    expect(coach.get_by_text("are checked")).to_be_visible()
    coach.goto("/")
    expect(coach.get_by_role("link", name=re.compile("Publish Ines"))).to_be_visible()
    assert Review.objects.get(swimmer=cast.swimmer).state == Review.State.CHECKED
