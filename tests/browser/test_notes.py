"""The families' pages in a browser: they read without script, and script adds the film."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from portal.recordings.models import Clip
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.review.drawings import SIX

FOCUS = 30
# What the numbered film spells in the picture that the browser shows at this moment.
READ = """video => {
  const canvas = new OffscreenCanvas(video.videoWidth, video.videoHeight);
  const pen = canvas.getContext("2d");
  pen.drawImage(video, 0, 0);
  let number = 0;
  for (let place = 0; place < 16; place += 1) {
    const [red] = pen.getImageData((place + 0.5) * 16, 8, 1, 1).data;
    number = number * 2 + (red > 127 ? 1 : 0);
  }
  return number;
}"""


@pytest.fixture
def review(transactional_db, cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


@pytest.fixture
def own_copy(review: Review) -> None:
    staging.copy_clip(Clip.objects.get())


def read(page: Page, review: Review) -> Locator:
    """Open the notes; the first still, which is that of the focus."""
    page.goto(f"/notes/{review.code}/")
    return page.locator(".still").first


def press(still: Locator, name: str) -> None:
    still.get_by_role("button", name=name).click()


def assert_shows(still: Locator, frame: int) -> None:
    expect(still).to_have_attribute("data-shown", str(frame))
    assert still.locator("video").evaluate(READ) == frame


def halted(still: Locator) -> int:
    """The frame on which the loop stopped, once told and picture agree."""
    video = still.locator("video")
    expect(video).to_have_js_property("paused", True)
    expect(video).to_have_js_property("seeking", False)
    shown = video.evaluate(READ)
    assert_shows(still, shown)
    return int(shown)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_it_works(
    open_page, review: Review, cast: Cast, assert_accessible, shot, width: int, dark: bool
):
    page = open_page(cast.guardian, width=width, height=800, dark=dark)
    for name, address in [("notes", f"/notes/{review.code}/"), ("notes-home", "/notes/")]:
        page.goto(address)
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        shot(page, f"{name}-{width}-{'dark' if dark else 'light'}", whole=True)


def test_the_flag_line_leads_to_the_moments(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    read(page, review)

    flag = page.get_by_role("link", name="looks not legal: One small dolphin")
    box = flag.bounding_box()
    assert box
    assert min(box["width"], box["height"]) >= 40
    flag.click()

    warning = page.get_by_role("article", name="One small dolphin")
    expect(warning).to_be_in_viewport()
    expect(warning).to_contain_text("not an official’s decision")


def test_it_reads_without_script(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True, script=False)
    read(page, review)

    for words in [staging.EARLY, staging.HEELS, staging.DOLPHINS, staging.DECK]:
        expect(page.get_by_text(words)).to_be_visible()
    expect(page.get_by_role("img", name="Breaststroke").first).to_be_visible()
    assert set(page.get_by_role("button").all_inner_texts()) == {
        "Got it",
        "Please hide this clip",
        "Sign out",
    }


def test_nothing_moves_while_it_loads(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    page.add_init_script(
        "window.shifts = []; new PerformanceObserver(list => list.getEntries().forEach("
        "entry => shifts.push(entry.value))).observe({type: 'layout-shift', buffered: true});"
    )
    still = read(page, review)
    box = still.bounding_box()
    press(still, "Play the moment")
    expect(still).to_have_attribute("data-state", "playing")

    assert still.bounding_box() == box
    assert page.evaluate("shifts") == []


def test_the_moment_plays_as_a_slow_loop(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    still = read(page, review)
    still.evaluate(
        "still => { window.seen = []; "
        "still.addEventListener('frame:shown', event => seen.push(event.detail.frame)); }"
    )
    press(still, "Play the moment")
    seen = still.evaluate(
        "still => new Promise(done => still.addEventListener('frame:shown', () => {"
        "  if (seen.some((frame, i) => i && frame < seen[i - 1] - 20)) done([...seen]); }))"
    )
    # 0.6 s of film on each side, and what the browser shows before it obeys.
    assert seen[0] == FOCUS
    assert min(seen) >= FOCUS - 19
    assert max(seen) <= FOCUS + 20
    video = still.locator("video")
    assert video.evaluate("video => [video.muted, video.playbackRate]") == [True, 0.25]
    press(still, "Pause: Slow loop")
    expect(still).to_have_attribute("data-state", "paused")
    assert video.evaluate("video => video.paused")


def test_steps_show_the_very_frame(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    page.emulate_media(reduced_motion="reduce")
    still = read(page, review)
    press(still, "Play the moment")

    expect(still).to_have_attribute("data-state", "stepping")
    assert_shows(still, FOCUS)
    for frame in [FOCUS + 1, FOCUS + 2, FOCUS + 3]:
        press(still, "One frame on")
        assert_shows(still, frame)
    for frame in [FOCUS + 2, FOCUS + 1, FOCUS, FOCUS - 1]:
        press(still, "One frame back")
        assert_shows(still, frame)
    assert still.locator("video").evaluate("video => video.paused")


def test_a_step_stops_the_loop(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    still = read(page, review)
    press(still, "Play the moment")
    expect(still).to_have_attribute("data-state", "playing")

    press(still, "One frame on")

    expect(still).to_have_attribute("data-state", "paused")
    shown = halted(still)
    press(still, "One frame on")
    assert_shows(still, shown + 1)


def test_steps_end_where_the_clip_ends(open_page, review: Review, own_copy, cast: Cast):
    Clip.objects.update(first_frame=29, last_frame=46)
    page = open_page(cast.guardian, phone=True)
    page.emulate_media(reduced_motion="reduce")
    still = read(page, review)
    press(still, "Play the moment")
    assert_shows(still, FOCUS)

    for _ in range(3):
        press(still, "One frame back")

    assert_shows(still, 29)


def test_the_keyboard_plays_it_too(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.swimmer_user, width=390, height=800)
    still = read(page, review)
    still.get_by_role("button", name="Play the moment").focus()
    page.keyboard.press("Enter")
    expect(still).to_have_attribute("data-state", "playing")
    page.keyboard.press("Space")
    expect(still).to_have_attribute("data-state", "paused")
    shown = halted(still)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert_shows(still, shown - 1)


def test_it_stays_accessible_while_it_plays(
    open_page, review: Review, own_copy, cast: Cast, assert_accessible, shot
):
    page = open_page(cast.guardian, phone=True)
    still = read(page, review)
    press(still, "Play the moment")
    expect(still).to_have_attribute("data-state", "playing")

    assert_accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for button in still.get_by_role("button").all():
        box = button.bounding_box()
        assert box
        assert min(box["width"], box["height"]) >= 44
    shot(page, "notes-playing")


def test_before_the_copy_stands_it_says_so(open_page, review: Review, cast: Cast, shot):
    page = open_page(cast.guardian, phone=True)
    still = read(page, review)
    press(still, "Play the moment")

    expect(still.get_by_role("status")).to_have_text(
        "The film is being made ready.", use_inner_text=True
    )
    assert still.locator("video").count() == 0
    shot(page, "notes-waiting")


def test_a_film_that_does_not_come_can_be_tried_again(
    open_page, review: Review, own_copy, cast: Cast
):
    page = open_page(cast.guardian, phone=True, forgive="times.json|ERR_FAILED")
    page.route("**/times.json", lambda route: route.abort())
    still = read(page, review)
    press(still, "Play the moment")
    expect(still.get_by_role("status")).to_contain_text(
        "The film did not come.", use_inner_text=True
    )

    page.unroute("**/times.json")
    press(still, "Play the moment")

    expect(still).to_have_attribute("data-state", "playing")


def test_the_second_adult_reads_but_plays_no_film(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.second_adult, phone=True)
    still = read(page, review)

    expect(still.get_by_role("img")).to_be_visible()
    assert still.get_by_role("button").count() == 0


def test_the_whole_clip_shows_the_frame_of_a_pennant(
    open_page, review: Review, own_copy, cast: Cast
):
    page = open_page(cast.guardian, phone=True)
    read(page, review)
    whole = page.get_by_role("region", name="The whole clip")
    video = whole.locator("video")
    assert video.evaluate("video => [video.readyState, video.muted, video.controls]") == [
        0,
        True,
        True,
    ]
    assert [words.split()[0] for words in whole.get_by_role("button").all_inner_texts()] == [
        "0:00.40",
        "0:01.00",
        "0:01.50",
    ]

    for frame in (45, 12):
        whole.get_by_role("button").nth([12, 30, 45].index(frame)).tap()
        page.wait_for_function(
            f"""frame => {{
              const video = document.querySelector(".whole video");
              return video.readyState > 1 && !video.seeking && ({READ})(video) === frame;
            }}""",
            arg=frame,
        )
        assert video.evaluate("video => video.paused")


def test_the_whole_clip_needs_no_script(open_page, review: Review, own_copy, cast: Cast):
    page = open_page(cast.guardian, phone=True, script=False)
    read(page, review)

    expect(page.locator(".whole video")).to_have_attribute("controls", "")
    expect(page.get_by_role("listitem").filter(has_text="0:01.00")).to_be_visible()
    second = open_page(cast.second_adult, phone=True)
    read(second, review)
    assert second.locator(".whole").count() == 0


def test_the_loop_rests_where_somebody_drew(open_page, review: Review, own_copy, cast: Cast):
    review.comments.filter(frame=FOCUS).update(drawing=SIX["mixed"])
    page = open_page(cast.guardian, phone=True)
    still = read(page, review)
    press(still, "Play the moment")

    for _round in range(2):
        expect(still.locator("video.under")).to_have_count(1, timeout=20_000)
        assert FOCUS <= int(still.get_attribute("data-shown") or 0) <= FOCUS + 2
        assert still.get_attribute("data-state") == "playing"
        expect(still.locator("video.under")).to_have_count(0)
    expect(still.locator("video.under")).to_have_count(1, timeout=20_000)
    press(still, "Pause: Slow loop")
    expect(still.locator("video.under")).to_have_count(0)
    assert FOCUS <= halted(still) <= FOCUS + 2
