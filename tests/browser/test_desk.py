"""The desk and the page before publishing, as people meet them."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from portal.items import observing
from portal.items.models import CheckAnswer
from portal.review import commenting, handing
from portal.review.models import Review
from tests.browser import films
from tests.cast import NOW, Cast, consent_to_all, make_swimmer
from tests.items import seen
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

SIZES = [(width, dark) for width in (360, 1440) for dark in (False, True)]
NAMES = ["Mirela Dunăreanu-Whitcombe", "Otis Farrow", "Petra Vanter", "Leni Falkner", "Kofi Adom"]


@pytest.fixture
def evening(cast: Cast, own_files: Path) -> Review:
    """One review out, one a draft by the assistant, others not begun, some film to sort."""
    words.learn()
    review = staging.evening(cast)
    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)
    recording = filmed.ready(cast)
    for number, name in enumerate(NAMES):
        swimmer = make_swimmer(cast.club, cast.squad, name, born=date(2013, 1, 1))
        consent_to_all(swimmer, cast.guardian)
        if number > 2:
            continue
        clip = filmed.clip(cast, recording, swimmer, first=number * 90, last=number * 90 + 80)
        fields: dict[str, Any] = {"frame": number * 90 + 5, "tag": "heels-close", "words": "Close."}
        if number < 2:
            by = [cast.assistant, cast.coach][number]
            said = commenting.write(clip, by=by, at=NOW, verdict="good", **fields)
            if by == cast.assistant:
                handing.hand_over(said.reviews.get(), by=by, at=NOW)
    films.record(cast, own_files, frames=60)
    return review


def check(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_desk(open_page, cast: Cast, evening, assert_accessible, shot, width, dark):
    page = open_page(cast.coach, width=width, dark=dark)
    page.goto("/")
    expect(page.get_by_role("link", name="Sort 30.mp4")).to_be_visible()
    shot(page, f"desk-{width}-{'dark' if dark else 'light'}", whole=True)
    assert_accessible(page)
    check(page)
    page.keyboard.press("?")
    keys = page.get_by_role("dialog", name="Keys")
    expect(keys.get_by_text("Check Mirela")).to_be_visible()
    keys.get_by_role("button", name="Close").click()
    page.keyboard.press("n")
    page.wait_for_url("**/publish/")
    expect(page.get_by_role("heading", name=NAMES[0])).to_be_visible()


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_an_empty_desk(open_page, cast: Cast, assert_accessible, shot, width, dark):
    page = open_page(cast.coach, width=width, dark=dark)
    page.goto("/")
    shot(page, f"desk-empty-{width}-{'dark' if dark else 'light'}")
    assert_accessible(page)
    check(page)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_before_it_goes_out(open_page, cast: Cast, assert_accessible, shot, width, dark):
    review = staging.evening(cast)
    review.comments.filter(verdict="work on").update(staff_note="He was tired today.")
    for number, name in enumerate(["knees", "chin"]):
        before = seen.said(cast, seen.session(cast, days_ago=9), seen.fault(name, order=number))
        observing.observe(before.review_code, [before])
    page = open_page(cast.coach, width=width, dark=dark, forgive="poster.jpg")
    name = f"{width}-{'dark' if dark else 'light'}"
    page.goto(f"/reviews/{review.code}/publish/")
    shot(page, f"publish-{name}", whole=True)
    assert_accessible(page)
    check(page)

    page.get_by_role("group", name="Bad knees").get_by_label("clean").click()
    page.get_by_role("group", name="Bad chin").get_by_label("could not see").click()
    page.get_by_role("button", name="Publish").click()
    expect(page.get_by_text("are on their way")).to_be_visible()
    answered = CheckAnswer.objects.filter(review_code=review.code)
    assert set(answered.values_list("fault__slug", "answer")) == {
        ("knees", "clean"),
        ("chin", "could not see"),
    }
    page.goto(f"/reviews/{review.code}/publish/")
    shot(page, f"publish-out-{name}", whole=True)
    assert_accessible(page)
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_role("button", name="Publish")).to_be_visible()
    expect(page.get_by_text("Readers see that it was corrected")).to_be_visible()


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_what_hinders(open_page, cast: Cast, assert_accessible, shot, width, dark):
    review = staging.evening(cast)
    review.comments.update(checkpoint=None, fault=None, words="")
    cast.squad.second_adult = None
    cast.squad.save()
    page = open_page(cast.coach, width=width, dark=dark)
    page.goto(f"/reviews/{review.code}/publish/")
    expect(page.get_by_role("button", name="Publish")).to_have_count(0)
    shot(page, f"publish-hindered-{width}-{'dark' if dark else 'light'}", whole=True)
    assert_accessible(page)
    check(page)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_what_a_second_adult_reads(open_page, cast, assert_accessible, shot, width, dark):
    review = staging.evening(cast)
    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)
    page = open_page(cast.second_adult, width=width, dark=dark)
    page.goto("/")
    expect(page.get_by_role("link", name="Ines Falk")).to_be_visible()
    shot(page, f"home-{width}-{'dark' if dark else 'light'}")
    assert_accessible(page)
    check(page)
