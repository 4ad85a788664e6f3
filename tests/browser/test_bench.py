"""A coach at the review bench: film, keys, slip, and what survives a reload and another hand."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from portal.people.models import User
from portal.recordings.models import Clip
from portal.review import commenting
from portal.review.models import Comment, Review
from tests.browser import films
from tests.cast import NOW, Cast, make_swimmer
from tests.recordings import filmed
from tests.review import words

FEET = "Feet not brought up to the hips"


@pytest.fixture
def clip(cast: Cast, own_files: Path) -> Clip:
    words.learn()
    return films.cut(cast, films.record(cast, own_files), first=20, last=200)


@pytest.fixture
def at_bench(open_page, cast: Cast, clip: Clip):
    """Opens the bench and waits for its first frame."""

    def go(user: User | None = None, *, query: str = "", **how) -> Page:
        page: Page = open_page(user or cast.coach, **how)
        page.goto(f"/clips/{clip.code}/{query}")
        ready(page)
        return page

    return go


def ready(page: Page) -> None:
    page.wait_for_function("() => document.querySelector('.stage').dataset.shown !== undefined")
    page.wait_for_selector(".line .rope")


def go_to(page: Page, frame: int) -> None:
    page.evaluate(
        "(frame) => document.querySelector('.stage')"
        ".dispatchEvent(new CustomEvent('seek:request', {detail: {frame}}))",
        frame,
    )
    expect(page.locator(".stage")).to_have_attribute("data-shown", str(frame))


def kept(page: Page) -> None:
    expect(page.locator("[data-kept]")).to_contain_text("kept")


def write(clip: Clip, cast: Cast, **changed) -> Comment:
    fields: dict[str, Any] = {
        "frame": 60,
        "verdict": "work on",
        "tag": "feet-low",
        "words": "Half way up.",
    }
    return commenting.write(clip, by=cast.coach, at=NOW, **{**fields, **changed})


def test_a_comment_from_the_keys_alone(at_bench, cast: Cast, assert_accessible):
    page = at_bench()
    go_to(page, 80)

    page.keyboard.press("w")
    expect(page.get_by_role("heading", name="At 0:02.00")).to_be_visible()
    expect(page.locator(".tell.now")).to_contain_text("being written")
    page.keyboard.type("fe")
    expect(page.get_by_role("listbox").get_by_role("option", selected=True)).to_contain_text(FEET)
    assert_accessible(page)
    page.keyboard.press("Enter")
    expect(page.locator("#cue")).to_have_value("Heels to the hips, then kick.")
    expect(page.get_by_label("Dose")).to_have_value("4 x 25")
    expect(page.get_by_text("Inner knee sore?")).to_be_visible()
    page.keyboard.type("Half way up, g w x.")
    page.keyboard.press("Control+Enter")

    expect(page.locator(".writing")).to_be_hidden()
    assert page.evaluate("document.activeElement.className") == "stage"
    assert page.locator(".stage").get_attribute("data-shown") == "80"
    comment = Comment.objects.get()
    assert (comment.frame, comment.verdict, str(comment.tag)) == (80, "work on", FEET)
    assert (comment.words, str(comment.drill)) == ("Half way up, g w x.", "Heels to the hands")
    page.reload()
    ready(page)
    expect(page.locator(".tell")).to_contain_text(FEET)
    expect(page.locator(".remarks")).to_contain_text("Half way up, g w x.")
    page.locator(".tell").click()
    expect(page.locator(".stage")).to_have_attribute("data-shown", "80")
    expect(page.get_by_label("Seen, and why it matters")).to_have_value("Half way up, g w x.")


def test_what_is_typed_is_kept_without_asking(at_bench):
    page = at_bench()
    page.keyboard.press("g")
    page.keyboard.type("he")
    page.keyboard.press("Enter")
    page.keyboard.type("Close to the hips")
    kept(page)
    page.keyboard.type(" on every kick")
    page.reload()
    ready(page)

    expect(page.locator(".remarks .words")).to_have_text("Close to the hips on every kick")
    assert Comment.objects.get().words == "Close to the hips on every kick"


def test_a_lost_line_loses_no_words(at_bench):
    page = at_bench(forgive="ERR_INTERNET_DISCONNECTED")
    page.keyboard.press("w")
    page.context.set_offline(True)
    page.get_by_label("Seen, and why it matters").fill("Written under ground.")
    expect(page.get_by_text("No connection.")).to_be_visible()
    assert not Comment.objects.exists()

    page.context.set_offline(False)

    kept(page)
    expect(page.get_by_text("No connection.")).to_be_hidden()
    assert Comment.objects.get().words == "Written under ground."
    assert page.evaluate("Object.keys(localStorage).length") == 0


@pytest.mark.parametrize(
    ("choice", "words_kept"),
    [
        ("Keep mine", "Mine."),
        ("Take theirs", "Theirs."),
        ("Put both", "Theirs.\n\nMine."),
    ],
)
def test_two_hands_on_one_comment(at_bench, cast, clip, assert_accessible, choice, words_kept):
    comment = write(clip, cast)
    page = at_bench(forgive="409")
    page.locator(".remarks a").click()
    field = page.get_by_label("Seen, and why it matters")
    expect(field).to_have_value("Half way up.")
    commenting.change(comment, version=1, by=cast.assistant, at=NOW, words="Theirs.")

    field.fill("Mine.")

    expect(page.get_by_text("Another wording was kept")).to_be_visible()
    expect(page.locator("[data-yours]")).to_contain_text("Mine.")
    expect(page.locator("[data-theirs]")).to_contain_text("Theirs.")
    assert_accessible(page)
    page.get_by_role("button", name=choice).click()
    expect(field).to_have_value(words_kept)
    expect(field).to_be_focused()
    page.keyboard.press("Control+Enter")
    expect(page.locator(".writing")).to_be_hidden()
    comment.refresh_from_db()
    assert comment.words == words_kept


def test_another_hand_does_not_stop_a_writer_in_mid_word(at_bench, cast: Cast, clip: Clip):
    comment = write(clip, cast)
    page = at_bench(forgive="409")
    page.locator(".remarks a").click()
    field = page.get_by_label("Seen, and why it matters")
    commenting.change(comment, version=1, by=cast.assistant, at=NOW, words="Theirs.")
    field.fill("Mine")
    expect(page.get_by_text("Another wording was kept")).to_be_visible()

    page.keyboard.type(" was w and g")

    expect(field).to_have_value("Mine was w and g")
    page.get_by_role("button", name="Keep mine").click()
    expect(field).to_have_value("Mine was w and g")
    page.keyboard.press("Control+Enter")
    expect(page.locator(".writing")).to_be_hidden()
    comment.refresh_from_db()
    assert comment.words == "Mine was w and g"


def test_a_drop_is_undone(at_bench, cast: Cast, clip: Clip):
    comment = write(clip, cast, focus=True)
    page = at_bench()
    page.locator(".remarks a").click()
    page.get_by_role("button", name="Drop").click()
    expect(page.locator(".remarks a")).to_have_count(0)

    page.get_by_role("button", name="Undo", exact=True).click()

    expect(page.locator(".remarks a")).to_have_count(1)
    comment.refresh_from_db()
    assert comment.dropped_at is None
    assert comment.reviews.get().focus == comment


def test_a_stretch_ends_where_the_film_stands(at_bench):
    page = at_bench(query="?f=50")
    expect(page.locator(".stage")).to_have_attribute("data-shown", "50")
    page.keyboard.press("w")
    page.get_by_role("button", name="make it a stretch").click()
    expect(page.get_by_text("Go on to the last frame")).to_be_visible()
    go_to(page, 65)
    page.get_by_role("button", name="make it a stretch").click()

    kept(page)
    comment = Comment.objects.get()
    assert (comment.frame, comment.last_frame) == (50, 65)
    expect(page.get_by_role("heading", name="0:01.00 to 0:01.50")).to_be_visible()


def test_comma_and_full_stop_walk_the_comments(at_bench, cast: Cast, clip: Clip):
    for frame in (60, 90, 120):
        write(clip, cast, frame=frame)
    page = at_bench()
    for key, frame in [(".", 60), (".", 90), (".", 120), (".", 120), (",", 90)]:
        page.keyboard.press(key)
        expect(page.locator(".stage")).to_have_attribute("data-shown", str(frame))
        expect(page.locator(".remarks [aria-current]")).to_have_attribute("href", f"?f={frame}")


def test_two_hundred_comments(at_bench, cast: Cast, clip: Clip, assert_accessible, shot):
    """Those that collide hang as one with their number; keys walk them all the same."""
    points = ["heels-close", "one-dolphin"]
    for number in range(200):
        tag = points[number % len(points)]
        write(clip, cast, frame=20 + number * 180 // 200, verdict="good", tag=tag, words="Close.")
    page = at_bench()

    hung = page.locator(".pin")
    counts = [int(text) for text in page.locator(".pin .count").all_text_contents()]
    assert sum(counts) + hung.count() - len(counts) == 200
    assert counts
    assert hung.count() < 70
    boxes = hung.locator(".cloth").evaluate_all(
        "(all) => all.map((one) => one.getBBox()).map(({ x, y }) => [x, y])"
    )
    assert not [
        (one, two)
        for place, one in enumerate(boxes)
        for two in boxes[:place]
        if abs(one[0] - two[0]) < 34 and abs(one[1] - two[1]) < 40
    ], "no cloth lies on another"
    shot(page, "bench-200-comments")
    assert_accessible(page)
    expect(page.locator(".remarks a")).to_have_count(200)

    page.locator("body").click(position={"x": 4, "y": 4})
    for walked in range(1, 8):
        page.keyboard.press(".")
        current = page.locator(".remarks [aria-current]")
        expect(current).to_have_count(1)
        place = page.locator(".remarks a").evaluate_all(
            "(all) => all.findIndex((one) => one.hasAttribute('aria-current'))"
        )
        assert place == walked - 1, "from the frame on the stage, each after the other"
    page.keyboard.press("Escape")
    page.keyboard.press(".")
    expect(page.locator(".remarks a").nth(7)).to_have_attribute("aria-current", "true")
    page.keyboard.press("Escape")
    page.set_viewport_size({"width": 720, "height": 450})
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "200 % zoom"
    shot(page, "bench-200-comments-zoomed", whole=True)


def test_escape_leaves_first_the_list_then_the_slip(at_bench):
    page = at_bench()
    page.keyboard.press("w")
    page.keyboard.type("fe")
    expect(page.get_by_role("listbox")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("listbox")).to_be_hidden()
    expect(page.locator(".writing")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator(".writing")).to_be_hidden()
    assert not Comment.objects.exists(), "nothing was said, so nothing is kept"


def test_an_assistant_reads_what_a_coach_wrote(at_bench, cast: Cast, clip: Clip):
    write(clip, cast)
    page = at_bench(cast.assistant)
    page.locator(".remarks a").click()
    expect(page.get_by_text("Written by Marta: a coach changes it, or Marta.")).to_be_visible()
    expect(page.locator(".writing")).to_be_hidden()


def test_when_the_notes_are_out_keys_only_say_so(at_bench, cast, clip, assert_accessible, shot):
    comment = write(clip, cast)
    [review] = comment.reviews.all()
    Review.objects.update(state=Review.State.PUBLISHED)
    page = at_bench()
    expect(page.get_by_role("heading", name="These notes are out")).to_be_visible()
    expect(page.get_by_role("button", name="good")).to_have_count(0)
    for key in "gwx":
        page.keyboard.press(key)
        expect(page.locator("[data-told]")).to_have_text(
            "These notes are out. Take them back first, then write."
        )
        expect(page.locator(".writing")).to_be_hidden()
        page.keyboard.press("Escape")
    page.locator(".remarks a").click()
    expect(page.get_by_text("This review is out.")).to_be_visible()
    expect(page.locator(".writing")).to_be_hidden()
    assert_accessible(page)
    shot(page, "bench-out")
    page.get_by_role("link", name="Take them back").click()
    page.wait_for_url(f"**/reviews/{review.code}/publish/")
    page.get_by_role("button", name="Take it back").click()

    page.goto(f"/clips/{clip.code}/")
    ready(page)
    page.keyboard.press("w")
    expect(page.locator(".writing")).to_be_visible()


def test_of_two_only_whose_notes_are_not_out_is_written_to(at_bench, cast: Cast, clip: Clip):
    write(clip, cast)
    Review.objects.update(state=Review.State.PUBLISHED)
    clip.swimmers.add(cast.mate)
    page = at_bench()
    page.keyboard.press("g")
    whom = page.get_by_role("group", name="For")
    expect(whom.get_by_label("Ines")).to_be_disabled()
    expect(whom.get_by_label("Noor")).to_be_checked()
    page.get_by_label("Seen, and why it matters").fill("Close to the hips.")
    page.keyboard.press("Control+Enter")

    expect(page.locator(".writing")).to_be_hidden()
    [review] = Comment.objects.get(verdict="good").reviews.all()
    assert review.swimmer == cast.mate


def test_without_the_squads_words_nothing_is_written(open_page, cast: Cast, clip: Clip):
    write(clip, cast)
    page = open_page(cast.coach, forgive="words.json")
    page.route("**/words.json*", lambda route: route.fulfill(status=503))
    page.goto(f"/clips/{clip.code}/")
    expect(page.get_by_text("The squad’s words have not come.")).to_be_visible()
    page.keyboard.press("w")
    expect(page.locator(".writing")).to_be_hidden()
    expect(page.get_by_text("Half way up.")).to_be_visible()


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1440, 900)])
def test_many_swimmers_push_nothing_sideways(at_bench, cast, clip, shot, width, height):
    for name in ["Mirela Whitcombe", "Otis Farrow", "Petra Vanter", "Leni Falkner", "Kofi Adom"]:
        swimmer = make_swimmer(cast.club, cast.squad, name, born=date(2013, 1, 1))
        filmed.clip(cast, clip.recording, swimmer)
    page = at_bench(width=width, height=height)
    expect(page.locator(".cast a")).to_have_count(6)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    shot(page, f"bench-six-{width}", whole=width < 1000)


def test_the_play_head_covers_neither_end_of_the_rope(at_bench, clip: Clip):
    page = at_bench()
    boxes = """() => [...document.querySelectorAll(".rope .marks text, .rope .grip")]
      .map((shape) => shape.getBoundingClientRect())
      .map(({ left, right }) => [left, right])"""

    def clear_of_the_grip() -> bool:
        *marks, (left, right) = page.evaluate(boxes)
        return all(end <= left or begin >= right for begin, end in marks)

    assert clear_of_the_grip()
    go_to(page, clip.last_frame)
    assert clear_of_the_grip()


def test_without_javascript_the_comments_stand_there(open_page, cast: Cast, clip: Clip):
    write(clip, cast)
    page = open_page(cast.coach, script=False)
    page.goto(f"/clips/{clip.code}/")
    expect(page.get_by_text("Half way up.")).to_be_visible()
    expect(page.get_by_role("button", name="play")).to_be_hidden()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(("width", "height"), [(1440, 900), (900, 900), (360, 740)])
def test_it_looks_right(at_bench, cast, clip, assert_accessible, shot, width, height, dark):
    write(clip, cast, focus=True)
    write(clip, cast, frame=110, verdict="good", tag="heels-close", words="Close on this one.")
    page = at_bench(width=width, height=height, dark=dark, query="?f=80")
    name = f"bench-{width}-{'dark' if dark else 'light'}"
    assert_accessible(page)
    shot(page, name, whole=width < 1000)
    page.keyboard.press("x")
    page.keyboard.type("do")
    shot(page, f"{name}-writing", whole=width < 1000)
    assert_accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    if width == 1440:
        page.keyboard.press("Enter")
        shot(page, f"{name}-tagged")
        below = page.evaluate("document.querySelector('.ropewrap').getBoundingClientRect().bottom")
        assert below <= height, "film, rope and slip stand on one screen"
