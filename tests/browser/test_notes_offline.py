"""Notes on a phone without a signal: what is kept, what never is, and what makes it go."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from portal.items.models import Verdict
from portal.people import consenting
from portal.people.models import Consent
from portal.recordings import hiding
from portal.recordings.models import Clip, Session
from portal.review import publishing
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast
from tests.notes import staging

OFFLINE = "ERR_INTERNET_DISCONNECTED|ERR_FAILED|Failed to fetch|kept.json|times.json"
KEPT = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    const shelf = await caches.open(name);
    for (const request of await shelf.keys()) {
      const copy = await shelf.match(request);
      const isPage = copy.headers.get("Content-Type")?.includes("text/html");
      const words = isPage ? await copy.text() : "";
      found.push([new URL(request.url).pathname + new URL(request.url).search, words]);
    }
  }
  return found;
}"""
AGE = """async () => {
  const shelf = await caches.open("flagline-notes");
  for (const request of await shelf.keys()) {
    const copy = await shelf.match(request);
    const headers = new Headers(copy.headers);
    headers.set("flagline-kept", new Date(Date.now() - 15 * 86400000).toISOString());
    await shelf.put(request, new Response(await copy.blob(), { headers }));
  }
}"""
CANARIES = ["Canary draft", "Canary mate", "Canary staff"]


@pytest.fixture
def review(transactional_db, cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    staging.copy_clip(Clip.objects.get())
    return review


def opened(page: Page, review: Review) -> Page:
    """Read once with a signal, until the phone has kept what it may."""
    page.goto(f"/notes/{review.code}/")
    expect(page.locator("html")).to_have_attribute("data-shelf", "kept")
    page.evaluate("navigator.serviceWorker.ready")
    return page


def kept(page: Page) -> dict[str, str]:
    return dict(page.evaluate(KEPT))


def stills(page: Page) -> list[str]:
    return [address for address in kept(page) if address.startswith("/stills/")]


def test_it_works(open_page, review: Review, cast: Cast, assert_accessible, shot):
    page = opened(open_page(cast.swimmer_user, phone=True, forgive=OFFLINE), review)
    page.context.set_offline(True)
    page.reload()

    expect(page.get_by_role("status").filter(has_text="No signal.")).to_be_visible()
    expect(page.get_by_text("Copy saved")).to_be_visible()
    expect(page.get_by_text(staging.EARLY)).to_be_visible()
    picture = page.locator(".still img").first
    assert picture.evaluate("async image => { await image.decode(); return image.naturalWidth; }")
    expect(page.get_by_role("button", name="Got it")).to_be_disabled()
    assert page.locator(".still video").count() == 0
    expect(page.locator(".whole")).to_be_hidden()
    assert_accessible(page)
    shot(page, "notes-offline")
    # What is shown from the phone is asked for anew by itself.
    page.context.set_offline(False)
    expect(page.locator("#no-signal")).to_be_hidden()
    expect(page.get_by_role("button", name="Got it")).to_be_enabled()


@pytest.mark.parametrize(
    ("place", "heading"),
    [
        ("week/{swimmer}", "Push and ride"),
        ("00000000-0000-4000-8000-000000000000", "This page is not on your phone"),
    ],
)
def test_another_page_without_a_signal(
    open_page, review: Review, cast: Cast, place: str, heading: str
):
    page = opened(open_page(cast.swimmer_user, phone=True, forgive=OFFLINE), review)
    page.context.set_offline(True)
    page.goto(f"/notes/{place.format(swimmer=cast.swimmer.code)}/")
    expect(page.get_by_role("heading", name=heading)).to_be_visible()


def test_it_keeps_words_and_stills_and_no_film(open_page, review: Review, cast: Cast):
    Session.objects.filter(pk=cast.session.pk).update(date=DAY - timedelta(days=9))
    for number, words in enumerate(["one", "two", "three"]):
        _later(cast, day=number, words=f"Kept {words}.")
    _canaries(cast)

    page = open_page(cast.guardian, phone=True)
    page.goto("/notes/")
    page.get_by_role("link", name="Thursday 19 November").first.click()
    expect(page.locator("html")).to_have_attribute("data-shelf", "kept")

    found = kept(page)
    words = " ".join(found.values())
    for each in ["Kept one.", "Kept two.", "Kept three."]:
        assert each in words
    assert staging.EARLY not in words  # the fourth session from the end
    assert not [each for each in CANARIES if each in words]
    places = {address.split("/")[1] for address in found}
    assert places == {"notes", "static"} | ({"stills"} if stills(page) else set())
    assert not [address for address in found if "film" in address or ".mp4" in address]


def test_signing_out_wipes_it(open_page, review: Review, cast: Cast):
    page = opened(open_page(cast.guardian, phone=True, forgive=OFFLINE), review)
    assert stills(page)

    page.get_by_role("button", name="Sign out").click()

    expect(page.get_by_role("heading", name="Sign in").first).to_be_visible()
    assert kept(page) == {}


def test_a_no_takes_the_pictures_at_the_next_contact(open_page, review: Review, cast: Cast):
    page = opened(open_page(cast.guardian, phone=True, forgive=OFFLINE), review)
    assert stills(page)
    consenting.answer(
        cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW
    )

    opened(page, review)

    assert stills(page) == []
    assert 'class="still"' not in " ".join(kept(page).values())
    assert staging.EARLY in " ".join(kept(page).values())


def test_a_hidden_clip_goes_too(open_page, review: Review, cast: Cast):
    page = opened(open_page(cast.guardian, phone=True), review)
    hiding.hide(Clip.objects.get(), by=cast.swimmer_user, at=NOW)

    opened(page, review)

    assert stills(page) == []


def test_a_guardian_who_lost_the_tie_keeps_nothing(open_page, review: Review, cast: Cast):
    page = opened(open_page(cast.guardian, phone=True, forgive="404"), review)
    cast.swimmer.guardianships.filter(guardian=cast.guardian).update(ends=DAY)

    page.goto("/notes/")

    page.wait_for_function("async () => (await caches.keys()).length === 0")
    assert kept(page) == {}
    page = open_page(cast.guardian, phone=True, forgive="404")
    page.goto(f"/notes/{review.code}/")
    assert page.locator("#no-signal").count() == 0


def test_an_old_copy_is_not_shown(open_page, review: Review, cast: Cast):
    page = opened(open_page(cast.guardian, phone=True, forgive=OFFLINE), review)
    page.evaluate(AGE)
    page.context.set_offline(True)

    with pytest.raises(Exception, match="ERR_"):
        page.goto(f"/notes/{review.code}/")


def test_staff_and_second_adult_keep_nothing(open_page, review: Review, cast: Cast):
    for person in (cast.coach, cast.second_adult):
        page = open_page(person, phone=True)
        page.goto(f"/notes/{review.code}/")
        assert page.locator("#no-signal").count() == 0
        assert kept(page) == {}


def test_it_can_be_installed(open_page, review: Review, cast: Cast):
    page = open_page(cast.guardian, phone=True)
    page.goto("/notes/")
    manifest = page.evaluate(
        "async () => (await fetch(document.querySelector('link[rel=manifest]').href)).json()"
    )

    assert (manifest["start_url"], manifest["display"]) == ("/notes/", "standalone")
    for icon in manifest["icons"]:
        size = page.evaluate(
            "async src => { const image = new Image(); image.src = src; await image.decode();"
            " return [image.naturalWidth, image.naturalHeight]; }",
            icon["src"],
        )
        assert icon["sizes"] == f"{size[0]}x{size[1]}"


def _later(cast: Cast, *, day: int, words: str) -> Review:
    session = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(days=2 - day),
        created_by=cast.coach,
        created_at=NOW,
    )
    review = Review.objects.create(session=session, swimmer=cast.swimmer)
    staging.comment(review, None, words=words)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def _canaries(cast: Cast) -> None:
    """A draft of the swimmer's, another swimmer's notes, and what is for the staff."""
    draft = _later(cast, day=2, words="Kept and taken back.")
    publishing.take_back(draft, by=cast.coach, at=NOW)
    draft.comments.update(words="Canary draft")
    mate = staging.open_review(cast, cast.mate)
    staging.comment(mate, None, words="Canary mate")
    publishing.publish(mate, by=cast.coach, at=NOW)
    shown = Review.objects.published().filter(swimmer=cast.swimmer).first()
    assert shown
    staging.comment(shown, None, verdict=Verdict.GOOD, words="Kept with a staff note.")
    shown.comments.update(staff_note="Canary staff")
