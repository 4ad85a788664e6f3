"""No number stands alone: on every page each is part of a sentence, or of a date."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.urls import reverse

from portal.review.models import Review
from tests.cast import LONG_AGO, Cast, make_swimmer
from tests.notes import staging
from tests.progress import looks
from tests.review import words

BLOCKS = {"p", "li", "td", "th", "h1", "h2", "h3", "figcaption", "title", "summary", "a", "button"}
SILENT = {"script", "style", "head", "footer", "nav"}
VOID = {"img", "input", "br", "meta", "link", "source", "path", "circle", "rect", "polyline"}


class Page(HTMLParser):
    """The words of each block of <main>, without those of blocks within it and without dates.
    Signs have a label, which says what they are, and pictures have a twin in words."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.blocks: list[list[str]] = []
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in VOID:
            return
        hidden = ("aria-hidden", "true") in attrs
        self.open.append("hidden" if hidden else tag)
        if tag in BLOCKS:
            self.blocks.append([])

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        self.open.pop()
        if tag in BLOCKS:
            self.found.append(" ".join(" ".join(self.blocks.pop()).split()))

    def handle_data(self, data: str) -> None:
        is_counted = "main" in self.open and not {"time", "hidden", *SILENT} & set(self.open)
        if self.blocks and is_counted:
            self.blocks[-1].append(data)


def bare_numbers(html: str) -> Iterator[str]:
    """Blocks with a figure and fewer than two words to it."""
    page = Page()
    page.feed(html)
    for text in page.found:
        if re.search(r"\d", text) and len(re.findall(r"[^\W\d]{2,}", text)) < 2:
            yield text


@pytest.fixture
def season(cast: Cast) -> Cast:
    """Something for every part of every page."""
    known = words.learn()
    given = looks.weekly(cast, cast.swimmer, known.feet, *["work on", "good"] * 3, "work on")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal", "", "", "", "", "")
    review = Review.objects.get(session=given[0], swimmer=cast.swimmer)
    staging.comment(review, None, verdict="work on", fault=known.feet, drill=known.hands)
    clip = staging.cut(staging.record(cast), cast.swimmer, cast.mate)
    for coach, verdict in ((cast.coach, "work on"), (cast.assistant, "good")):
        looks.look(given[-1], cast.swimmer, known.feet, verdict, coach=coach, clip=clip)
    for number in range(8):
        child = make_swimmer(cast.club, cast.squad, f"Child {'ABCDEFGH'[number]}", born=LONG_AGO)
        looks.weekly(cast, child, known.feet, "work on", "work on", "good", "good", "good")
        looks.weekly(cast, child, known.dolphins, "not legal", *[""] * 5, "work on")
    return cast


@pytest.mark.parametrize("name", ["swimmers", "swimmer", "squad", "open_items", "disputes"])
def test_every_number_has_its_sentence(as_coach: Client, season: Cast, name: str):
    codes = {"swimmers": [], "swimmer": [season.swimmer.code]}
    url = reverse(f"progress:{name}", args=codes.get(name, [season.squad.code]))

    html = as_coach.get(url).content.decode()

    assert re.search(r"\d", html.split("<main")[1])
    assert list(bare_numbers(html)) == []


def test_a_bare_number_would_be_found():
    found = bare_numbers(
        "<main><p>seen in 3 looks</p><td>40 %</td><td><time>3 May</time></td></main>"
    )

    assert list(found) == ["40 %"]
