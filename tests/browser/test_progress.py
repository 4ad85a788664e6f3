"""Progress and the sheet as a coach meets them: on a phone, at the desk, by keyboard, on paper."""

from __future__ import annotations

import re
from datetime import date

import pytest
from playwright.sync_api import Page, expect

from portal.jobs import running
from portal.jobs.models import Job
from portal.people.models import Swimmer
from portal.recordings.models import Session
from portal.review import decking, publishing
from portal.review.models import Review
from portal.technique.models import Fault
from tests.cast import NOW, Cast, make_swimmer
from tests.notes import staging
from tests.progress import looks
from tests.reports.paper import opened
from tests.review import words

SIZES = [(width, dark) for width in (360, 1440) for dark in (False, True)]
SEEN = ["work on", "", "good", "work on", "", "good", "good", "", "good", "", "work on", "good", ""]


@pytest.fixture
def season(cast: Cast) -> Cast:
    """Ines over thirteen sessions with a gap, Mirela in one, Noor in none."""
    known = words.learn()
    where = [
        looks.session(cast, days_ago=7 * back + (35 if back > 2 else 0))
        for back in reversed(range(len(SEEN)))
    ]
    history(where, cast.swimmer, known.feet, SEEN)
    history(where, cast.swimmer, known.dolphins, ["not legal", "", "good"])
    mirela = make_swimmer(
        cast.club, cast.squad, "Mirela Dunăreanu-Whitcombe", born=date(2013, 1, 1)
    )
    history(where[-1:], mirela, known.feet, ["good"])
    review = Review.objects.get(session=where[-9], swimmer=cast.swimmer)
    staging.comment(review, None, verdict="work on", fault=known.feet, drill=known.hands)
    return cast


def history(where: list[Session], swimmer: Swimmer, fault: Fault, verdicts: list[str]) -> None:
    """Of the newest sessions; an empty verdict is no look."""
    for session, verdict in zip(where[-len(verdicts) :], verdicts, strict=True):
        looks.look(session, swimmer, fault, *([verdict] if verdict else []))


def check(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_from_the_list_to_the_grid(
    open_page, season: Cast, assert_accessible, shot, width: int, dark: bool
):
    name = f"{width}-{'dark' if dark else 'light'}"
    page = open_page(season.coach, width=width, dark=dark)
    page.goto("/swimmers/")
    expect(page.get_by_text("nobody has looked at Noor.")).to_be_visible()
    shot(page, f"swimmers-{name}", whole=True)
    assert_accessible(page)
    check(page)

    page.get_by_role("link", name="Ines Falk").click()
    row = page.get_by_role("row", name=re.compile("Feet not brought up"))
    expect(row.get_by_role("img", name="work on")).to_have_count(2)
    expect(row.get_by_role("img", name="not looked at")).to_have_count(4)
    expect(row).to_contain_text("seen in 3 of the 8 sessions where you looked")
    expect(page.locator(".grid").get_by_role("columnheader")).to_have_count(14)
    page.locator(".grid").get_by_role("link", name="Feet not brought up").click()
    panel = page.get_by_role("region", name="Feet not brought up to the hips")
    expect(panel).to_contain_text("Seen in 3 of the 8 sessions where you looked.")
    expect(panel).to_contain_text("Inner knee sore? No kick today.")
    shot(page, f"swimmer-{name}", whole=True)
    assert_accessible(page)
    check(page)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_open_items(open_page, season: Cast, assert_accessible, shot, width: int, dark: bool):
    page = open_page(season.coach, width=width, dark=dark)
    page.goto(f"/squads/{season.squad.code}/open-items/")
    expect(page.get_by_text("No review of Noor is out yet: nobody has looked.")).to_be_visible()
    expect(page.get_by_text("Nothing is open.")).to_be_visible()
    shot(page, f"open-items-{width}-{'dark' if dark else 'light'}", whole=True)
    assert_accessible(page)
    check(page)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_what_to_practise_and_what_two_coaches_saw(
    open_page, season: Cast, assert_accessible, shot, width: int, dark: bool
):
    feet = Fault.objects.get(slug="feet-low")
    for number, first in enumerate(["Abel", "Bea", "Cora", "Dina", "Emil", "Fee", "Gil", "Ida"]):
        child = make_swimmer(season.club, season.squad, f"{first} Marsh", born=date(2013, 1, 1))
        for back in (1, 9, 16):
            verdict = ("work on", "work on", "good")[(number + back) % 3]
            looks.look(looks.session(season, days_ago=back), child, feet, verdict)
    clip = staging.cut(staging.record(season), season.swimmer)
    review = looks.look(season.session, season.swimmer, feet)
    for coach, verdict, text in (
        (season.coach, "work on", "The heels stop half way on every kick."),
        (season.assistant, "good", "From the side they come right up."),
    ):
        said = staging.comment(review, clip, frame=12, verdict="good", words=text)
        looks.look(
            season.session,
            season.swimmer,
            feet,
            verdict,
            coach=coach,
            clip=clip,
            comment_code=said.code,
        )
    name = f"{width}-{'dark' if dark else 'light'}"
    page = open_page(season.coach, width=width, dark=dark)
    page.goto(f"/squads/{season.squad.code}/progress/")
    practise = page.get_by_role("region", name="What to practise")
    expect(practise).to_contain_text("swimmers looked at")
    shot(page, f"squad-{name}", whole=True)
    assert_accessible(page)
    check(page)

    page.get_by_role("link", name="Settle it").click()
    expect(page.get_by_text("From the side they come right up.")).to_be_visible()
    shot(page, f"disputes-{name}", whole=True)
    assert_accessible(page)
    check(page)
    page.get_by_role("button", name="is there").click()
    expect(page.get_by_text("Settled. It counts from now on.")).to_be_visible()
    expect(page.get_by_text("Nothing to settle")).to_be_visible()


def test_two_sessions_turn_recurring_into_improving(open_page, cast: Cast):
    """And an older note that is published late changes what came after it."""
    known = words.learn()
    for days in (35, 28):
        noted(cast, days, known.feet.slug, "work on")
    page = open_page(cast.coach)
    page.goto(f"/swimmers/{cast.swimmer.code}/")
    row = page.get_by_role("row", name=re.compile("Feet not brought up"))
    expect(row).to_contain_text("recurring")

    for days in (14, 7):
        noted(cast, days, known.heels.slug, "good")
    page.reload()
    expect(row).to_contain_text("improving")
    expect(row).to_contain_text("seen in 2 of the 4 sessions where you looked")

    review = noted(cast, 10, known.feet.slug, "work on")
    page.reload()
    expect(row).to_contain_text("recurring")
    expect(row.get_by_role("img", name="work on")).to_have_count(3)

    publishing.take_back(review, by=cast.coach, at=NOW)
    page.reload()
    expect(row).to_contain_text("improving")


def noted(cast: Cast, days_ago: int, tag: str, verdict: str) -> Review:
    """A deck note of a session so many days ago, published just now."""
    where = looks.session(cast, days_ago=days_ago)
    decking.write(
        where,
        cast.swimmer,
        stroke="breast",
        by=cast.coach,
        at=NOW,
        verdict=verdict,
        tag=tag,
        words="Seen from the deck.",
    )
    review = Review.objects.get(session=where, swimmer=cast.swimmer)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


@pytest.mark.parametrize("width", [360, 1440])
def test_all_sessions_move_in_their_own_box(open_page, season: Cast, assert_accessible, width: int):
    page = open_page(season.coach, width=width)
    page.goto(f"/swimmers/{season.swimmer.code}/")
    page.get_by_role("link", name=re.compile("older sessions")).click()

    box = page.get_by_role("region", name="All sessions")
    expect(box.get_by_role("columnheader")).to_have_count(17)
    assert_accessible(page)
    check(page)
    box.focus()
    before = box.evaluate("box => box.scrollLeft")
    page.keyboard.press("ArrowRight")
    if width == 360:
        page.wait_for_function(
            "before => document.querySelector('.wide').scrollLeft > before", arg=before
        )


def test_by_keyboard_alone(open_page, season: Cast):
    page = open_page(season.coach)
    page.goto("/swimmers/")
    link = page.get_by_role("link", name="Ines Falk")
    for _ in range(20):
        page.keyboard.press("Tab")
        if link.evaluate("link => link === document.activeElement"):
            break
    expect(link).to_be_focused()
    assert link.evaluate("link => getComputedStyle(link).outlineStyle") == "solid"

    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", name="Ines Falk")).to_be_visible()


def test_on_grey_paper(open_page, season: Cast):
    """By night too: paper is white, and the grid keeps its columns."""
    page = open_page(season.coach, dark=True)
    page.goto(f"/swimmers/{season.swimmer.code}/")
    page.emulate_media(media="print")
    expect(page.get_by_role("banner")).to_be_hidden()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"

    with opened(page.pdf(prefer_css_page_size=True)) as paper:
        assert paper.pages == 1
        assert "seen in 3 of the 8 sessions where you looked" in paper.words
        heads = [paper.place_of(day) for day in ("Status", "Item\r\n")]
    assert heads[0][1] == pytest.approx(heads[1][1], abs=3), "a table, not the phone's cards"

    page.goto(f"/squads/{season.squad.code}/progress/")
    with opened(page.pdf(prefer_css_page_size=True)) as paper:
        assert paper.pages == 1
        assert "Not reviewed lately" in paper.words
        bars = [paper.place_of(head) for head in ("The whole squad", "What that comes to")]
    assert bars[0][1] == pytest.approx(bars[1][1], abs=3)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_a_sheet_is_asked_for_and_comes(
    open_page, cast: Cast, assert_accessible, shot, width: int, dark: bool
):
    review = staging.open_review(cast)
    staging.comment(review, None)
    publishing.publish(review, by=cast.coach, at=NOW)
    name = f"{width}-{'dark' if dark else 'light'}"
    page = open_page(cast.coach, width=width, dark=dark)
    page.goto(f"/sessions/{cast.session.code}/")
    page.get_by_role("link", name="Session sheet").click()
    shot(page, f"sheet-asked-{name}")
    assert_accessible(page)

    page.get_by_role("button", name="Make the sheet").click()
    expect(page.get_by_text("The sheet is being set.")).to_be_visible()
    assert_accessible(page)
    check(page)

    job = Job.objects.get(kind="reports.make_sheet")
    assert running.run_one(job.code, worker="tests", at=job.due_at)

    link = page.get_by_role("link", name="Open the sheet (PDF)")
    expect(link).to_be_visible()
    shot(page, f"sheet-ready-{name}")
    assert_accessible(page)
    check(page)
    answer = page.request.get(str(link.get_attribute("href")))
    assert answer.headers["content-type"] == "application/pdf"
    with opened(answer.body()) as paper:
        assert "Heels close to the hips" in paper.words
