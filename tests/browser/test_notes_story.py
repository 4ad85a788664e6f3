"""From the mail to the pool and back: what a family does with the notes on a phone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from portal.items.models import Verdict
from portal.people.models import Guardianship
from portal.recordings.models import Clip, Recording, Session
from portal.review import publishing
from portal.review.models import Review
from portal.roster import guarding
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.notes import staging

QUESTION = "Which arm do you mean?"


@pytest.fixture
def review(transactional_db, cast: Cast) -> Review:
    """An older one, then that of the evening."""
    session = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(days=14),
        created_by=cast.coach,
        created_at=NOW,
    )
    older = Review.objects.create(session=session, swimmer=cast.swimmer)
    recording = staging.record(cast)
    Recording.objects.update(session=session)
    recording.refresh_from_db()
    clip = staging.cut(recording, cast.swimmer)
    staging.comment(
        older, clip, frame=20, verdict=Verdict.WORK_ON, words=staging.EARLY, fault=staging.fault()
    )
    publishing.publish(older, by=cast.coach, at=NOW)
    newer = staging.evening(cast)
    publishing.publish(newer, by=cast.coach, at=NOW)
    for each in Clip.objects.filter(recording__session=cast.session):
        staging.copy_clip(each)
    return newer


def tap(page: Page, name: str, *, role: str = "button") -> None:
    page.get_by_role(role, name=name, exact=True).tap()  # type: ignore[arg-type]


def small_targets(page: Page) -> list[str]:
    """What can be pressed and is lower or narrower than 44 px; a link within words is not meant,
    nor is a flag, whose place is the picture's."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll("main button, main summary, main a, main textarea,"
            + " footer button, footer a, header a")]
          .filter((each) => !each.closest("svg") && getComputedStyle(each).display !== "inline")
          .map((each) => [each.textContent.trim(), each.getBoundingClientRect()])
          .filter(([, box]) => box.width && (box.height < 44 || box.width < 44))
          .map(([words, box]) => `${words}: ${box.width} x ${box.height}`)"""
    )
    return found


def looks_right(page: Page, assert_accessible, width: int) -> None:
    assert_accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert small_targets(page) == []


@pytest.mark.parametrize(("width", "dark"), [(360, False), (390, True), (1440, False)])
def test_it_works(
    open_page, review: Review, cast: Cast, assert_accessible, shot, width: int, dark: bool
):
    shade = "dark" if dark else "light"
    page = open_page(cast.guardian, width=width, height=740, dark=dark, touch=width < 1000)
    child = cast.swimmer.code
    for name, address in [
        ("home", "/notes/"),
        ("week", f"/notes/week/{child}/"),
        ("over-time", f"/notes/over-time/{child}/"),
        ("notes", f"/notes/{review.code}/"),
    ]:
        page.goto(address)
        looks_right(page, assert_accessible, width)
        shot(page, f"story-{name}-{width}-{shade}", whole=True)
    page.get_by_text("Show me", exact=True).click()
    page.get_by_label("What shall they show you?").fill(QUESTION)
    looks_right(page, assert_accessible, width)
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_text(QUESTION)).to_be_in_viewport()
    looks_right(page, assert_accessible, width)
    shot(page, f"story-asked-{width}-{shade}")
    coach = open_page(cast.coach, width=width, height=740, dark=dark)
    coach.goto(f"/notes/{review.code}/#talk")
    looks_right(coach, assert_accessible, width)
    shot(coach, f"story-coach-{width}-{shade}")
    officer = open_page(cast.welfare, width=width, height=740, dark=dark)
    officer.goto("/communications/notes/")
    expect(officer.get_by_text(QUESTION)).to_be_visible()
    assert_accessible(officer)
    assert officer.evaluate("document.documentElement.scrollWidth") <= width


def test_from_the_notice_to_the_first_card(open_page, review: Review, cast: Cast):
    """Signed in already: the mail's button is the one tap that it takes."""
    mail = cast.guardian.mails.order_by("pk").last()
    assert mail
    page = open_page(cast.guardian, phone=True)
    page.set_content(mail.html)
    link = page.get_by_role("link", name="Read the notes (sign-in)")
    address = link.get_attribute("href") or ""
    assert address.endswith(f"/notes/{review.code}/")

    page.goto(f"/notes/{review.code}/")

    expect(page.locator(".moment .still").first).to_be_in_viewport()
    expect(page.locator(".moment .verdict").first).to_be_in_viewport()


def test_what_is_asked_reaches_all_who_read(open_page, review: Review, cast: Cast):
    child = open_page(cast.swimmer_user, phone=True)
    child.goto(f"/notes/{review.code}/")
    child.get_by_text("Show me", exact=True).tap()
    child.get_by_label("What shall they show you?").fill(QUESTION)
    tap(child, "Send")
    expect(child.get_by_text("A coach shows you at the pool, with the squad there")).to_be_visible()

    coach = open_page(cast.coach, width=1280, height=800)
    coach.goto(f"/notes/{review.code}/")
    coach.get_by_label("Your answer").fill("The left one.")
    coach.get_by_role("button", name="Answer", exact=True).click()

    for person in (cast.guardian, cast.co_guardian, cast.second_adult, cast.swimmer_user):
        page = open_page(person, phone=True)
        page.goto(f"/notes/{review.code}/")
        talk = page.get_by_role("region", name="What").or_(page.locator("#talk")).first
        expect(talk).to_contain_text(QUESTION)
        expect(talk).to_contain_text("The left one.")
        expect(talk).to_contain_text("Marta Lind has seen this.")


def test_it_is_answered_without_script(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True, script=False)
    page.goto(f"/notes/{review.code}/")
    tap(page, "Got it")
    expect(page.get_by_text("Your coaches see it.")).to_be_visible()
    page.get_by_text("Show me", exact=True).tap()
    page.get_by_label("What shall they show you?").fill(QUESTION)
    tap(page, "Send")
    expect(page.get_by_text(QUESTION)).to_be_visible()
    tap(page, "This week’s drills", role="link")
    expect(page.get_by_role("heading", name="Push and ride")).to_be_visible()
    page.go_back()
    tap(page, "Over time", role="link")
    expect(page.get_by_role("heading", name="Working on")).to_be_visible()
    assert page.get_by_role("img", name="Patient line off the wall").count() == 2


def test_the_screen_stays_on_at_the_pool(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    page.context.grant_permissions(["screen-wake-lock"])
    page.goto(f"/notes/week/{cast.swimmer.code}/")
    expect(page.get_by_text("The screen stays on.")).to_be_visible()

    page = open_page(cast.guardian, phone=True)
    page.add_init_script("delete Navigator.prototype.wakeLock")
    page.goto(f"/notes/week/{cast.swimmer.code}/")
    expect(page.get_by_role("heading", name="Push and ride")).to_be_visible()
    expect(page.get_by_text("The screen stays on.")).to_be_hidden()


def test_nothing_is_lost_in_large_letters(open_page, review: Review, cast: Cast):
    """200 % of the letters, as a reader sets them in the browser."""
    page = open_page(cast.guardian, width=390, height=800)
    for address in (f"/notes/{review.code}/", f"/notes/week/{cast.swimmer.code}/"):
        page.goto(address)
        page.evaluate("document.documentElement.style.fontSize = '32px'")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.evaluate(
            "[...document.querySelectorAll('main *')].every(each =>"
            " each.closest('.side, .unseen, svg') || each.scrollWidth <= each.clientWidth + 1 ||"
            " getComputedStyle(each).overflowX === 'visible')"
        )


def test_children_are_switched_without_signing_out(open_page, review: Review, cast: Cast, shot):
    brother = make_swimmer(cast.club, cast.squad, "Jonas Falk", born=DAY.replace(year=2016))
    Guardianship.objects.create(guardian=cast.guardian, swimmer=brother, starts=LONG_AGO)
    theirs = staging.open_review(cast, brother)
    staging.comment(theirs, None, words="Chin low.")
    publishing.publish(theirs, by=cast.coach, at=NOW)
    page = open_page(cast.guardian, phone=True)
    page.goto("/notes/")
    tap(page, "Jonas", role="link")
    expect(page.get_by_role("heading", name="Jonas: notes")).to_be_visible()
    tap(page, "Ines", role="link")
    expect(page.get_by_role("heading", name="Ines: notes")).to_be_visible()

    tie = Guardianship.objects.get(guardian=cast.guardian, swimmer=cast.swimmer)
    now = timezone.now()
    guarding.bar(tie, on=cast.club.day(now), by=cast.head_coach, at=now)
    page.goto("/notes/")
    assert page.get_by_text("Ines").count() == 0


def test_nothing_moves_while_it_loads(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    page.add_init_script(
        "window.shifts = []; new PerformanceObserver(list => list.getEntries().forEach("
        "entry => shifts.push(entry.value))).observe({type: 'layout-shift', buffered: true});"
    )
    child = cast.swimmer.code
    for address in (
        "/notes/",
        f"/notes/{review.code}/",
        f"/notes/week/{child}/",
        f"/notes/over-time/{child}/",
    ):
        page.goto(address, wait_until="networkidle")
        assert page.evaluate("shifts") == [], address
