"""Notes and consent once through in WebKitGTK and in Firefox ESR, beside Chromium."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager

import pytest
from django.conf import settings

from portal.people.models import Consent
from portal.replies.models import Reply
from portal.review import publishing
from portal.review.models import Review
from tests.browser import otherwise
from tests.browser.otherwise import Browser
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging

BROWSERS: dict[str, Callable[[], AbstractContextManager[Browser]]] = {
    "webkit": otherwise.webkit,
    "firefox": otherwise.firefox,
}
# Waits in the page itself, for 15 s at most, until words stand there.
APPEAR = """new Promise((done) => {{
  const end = Date.now() + 15000;
  const look = () => {{
    const said = document.body?.innerText ?? "";
    if (said.includes({words!r})) done("there");
    else if (Date.now() > end) done(said);
    else setTimeout(look, 50);
  }};
  look();
}})"""
PICTURE = """document.querySelector(".still img").decode()
  .then(() => document.querySelector(".still img").naturalWidth)"""
PRESSED = """[...document.querySelectorAll("button")]
  .find((each) => each.textContent.trim() === {name!r}).click()"""
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(params=BROWSERS)
def browser(request, live_server, transactional_db, cast: Cast) -> Iterator[Browser]:
    """Signed in as a guardian."""
    if packages := otherwise.missing():
        pytest.fail(f"Type: apt-get install -y {' '.join(packages)}", pytrace=False)
    with BROWSERS[request.param]() as opened:
        session = signed_in(cast.guardian).cookies[settings.SESSION_COOKIE_NAME].value
        opened.cookie(settings.SESSION_COOKIE_NAME, session, live_server.url)
        yield opened


def press(browser: Browser, name: str, *, then: str) -> None:
    browser.do(PRESSED.format(name=name))
    appears(browser, then)


def appears(browser: Browser, words: str) -> None:
    assert browser.run(APPEAR.format(words=words)) == "there"


def test_it_works(browser: Browser, live_server, cast: Cast):
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    browser.go(f"{live_server.url}/notes/{review.code}/")

    for words in ("Ines: notes", staging.EARLY, "Swim this: Push and ride", "Take care."):
        appears(browser, words)
    assert browser.run(PICTURE) == 640
    assert browser.run(WIDE) <= 0
    press(browser, "Got it", then="Your coaches see it.")
    assert Reply.objects.get().by == cast.guardian
    browser.go(f"{live_server.url}/notes/week/{cast.swimmer.code}/")
    appears(browser, "6 x 15")
    assert browser.run(WIDE) <= 0

    Consent.objects.all().delete()
    browser.go(f"{live_server.url}/children/{cast.swimmer.code}/questions/")
    browser.do(
        "document.querySelectorAll('input[type=radio][value=yes]').forEach((each) => each.click())"
    )
    press(browser, "Keep the answers", then="Your answers are kept.")
    said = Consent.objects.filter(answered_by=cast.guardian)
    assert set(said.values_list("is_given", flat=True)) == {True}
    assert Review.objects.published().exists()
