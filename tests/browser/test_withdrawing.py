"""A no takes film off a page that lies open, with all that the browser holds of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from portal.people.consenting import answer
from portal.people.models import Consent
from portal.recordings import holding
from portal.recordings.models import Clip
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging


@pytest.fixture
def review(transactional_db, cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    staging.copy_clip(Clip.objects.get())
    return review


def plays(page: Page) -> None:
    """It is all in the browser, which needs nothing more of the portal to go on."""
    film = page.locator("video")
    expect(film).to_be_visible()
    page.wait_for_function(
        "() => { const film = document.querySelector('video');"
        " return film.readyState >= 3 && film.buffered.length > 0; }"
    )


def test_it_works(open_page, review: Review, cast: Cast):
    """Before the family's eyes, when a second household says no."""
    page = open_page(cast.guardian, forgive="404")
    page.goto(f"/notes/{review.code}/")
    page.locator(".still").first.get_by_role("button", name="Play").first.click()
    plays(page)

    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW)

    expect(page.locator("video")).to_have_count(0)
    expect(page.locator(".still img")).to_have_count(0)


def test_a_hold_empties_the_coachs_bench(open_page, review: Review, cast: Cast):
    page = open_page(cast.coach, forgive="404")
    clip = Clip.objects.get()
    page.goto(f"/clips/{clip.code}/")
    plays(page)

    holding.hold(clip.recording, by=cast.welfare, at=timezone.now() + timedelta(seconds=1))

    expect(page.locator("video")).to_have_count(0)
