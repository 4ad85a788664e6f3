"""The drawn take of six swimmers at the sorting table, by keyboard alone."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from portal.people.models import Consent, Swimmer
from portal.recordings.models import Clip, Recording
from tests.cast import DAY, NOW, Cast, make_swimmer
from tests.recordings.films import make_ready
from tests.recordings.six import HALF_A_SECOND, seen, six_swimmers

MORE = ["Petra Vanter", "Kenji Mori", "Sanne Vos", "Mateo Rivas"]
MOST_KEYS = 90


@pytest.fixture
def order(cast: Cast, transactional_db) -> list[Swimmer]:
    """Six who may be filmed, in the order of the film list."""
    swimmers = [cast.mate, cast.swimmer]
    for name in MORE:
        swimmer = make_swimmer(cast.club, cast.squad, name, born=DAY)
        swimmers.append(swimmer)
        Consent.objects.create(
            swimmer=swimmer,
            purpose=Consent.Purpose.FILM,
            is_given=True,
            answered_by=cast.guardian,
            at=NOW,
        )
    cast.session.film_order = [swimmer.id for swimmer in swimmers]
    cast.session.save(update_fields=["film_order"])
    return swimmers


@pytest.fixture
def take(cast: Cast, tmp_path: Path, order) -> Recording:
    return make_ready(cast, six_swimmers(tmp_path / "six.mp4"))


class Keys:
    """Counts what is pressed; a key held with Shift is one."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
        self.count += len(keys)

    def keep(self, number: int) -> None:
        self.press("Enter")
        expect(self.page.locator(".kept [data-first]")).to_have_count(number)


def open_table(open_page, cast: Cast, take: Recording) -> Page:
    page: Page = open_page(cast.coach)
    page.goto(reverse("recordings:sorting", args=[take.code]))
    stands_at(page, take.strip["guesses"][0]["first"])
    return page


def stands_at(page: Page, frame: int) -> None:
    expect(page.locator("[data-place]")).to_have_text(f"frame {frame} of 1224")


def test_six_swimmers_by_keyboard(open_page, cast: Cast, take: Recording, order, assert_accessible):
    page = open_table(open_page, cast, take)
    expect(page.locator(".take .guess")).to_have_count(6)
    assert_accessible(page)
    keys = Keys(page)
    guesses = take.strip["guesses"]

    # Both ends of every guess are looked at; stroke and view are said once.
    for number, guess in enumerate(guesses, start=1):
        stands_at(page, guess["first"])
        keys.press("End")
        stands_at(page, guess["last"])
        if number == 1:
            keys.press("s", "s", "s", "v")
        if number == 3:
            keys.press("s", "s", "s", "s", "e")
        if number == 6:
            keys.press("Shift+ArrowLeft")
            stands_at(page, guess["last"] - 10)
            keys.press("o")
        keys.keep(number)

    assert keys.count < MOST_KEYS
    clips = list(Clip.objects.order_by("first_frame"))
    for clip, (first, last), swimmer in zip(clips, seen(), order, strict=True):
        assert abs(clip.first_frame - first) <= HALF_A_SECOND
        assert abs(clip.last_frame - last) <= HALF_A_SECOND
        assert list(clip.swimmers.all()) == [swimmer]
        assert clip.view == "side-underwater"
    assert [clip.effort for clip in clips] == ["practice"] * 2 + ["race"] * 4
    expect(page.locator(".guessed")).to_have_count(0)
    expect(page.locator(".take .guess")).to_have_count(0)


def test_what_is_empty_is_passed_over_and_taken_back(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    second = take.strip["guesses"][1]["first"]

    page.keyboard.press("Backspace")
    expect(page.locator(".take .guess")).to_have_count(5)
    stands_at(page, second)
    page.keyboard.press("z")

    expect(page.locator(".take .guess")).to_have_count(6)
    stands_at(page, take.strip["guesses"][0]["first"])
    page.keyboard.press("g")
    stands_at(page, second)
    expect(page.get_by_label("Ines Falk", exact=False)).to_be_checked()
    page.get_by_role("button", name="Nothing to see ⌫").click()
    expect(page.locator(".take .guess")).to_have_count(5)


def test_split_moved_joined_and_taken_back_by_key(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    first, last = take.strip["guesses"][0]["first"], take.strip["guesses"][0]["last"]
    keys = Keys(page)
    keys.press("s", "v")
    keys.keep(1)

    has = partial(has_kept, page)
    has((first, last))
    page.fill("#id_first_frame", "100")
    page.locator("#id_first_frame").blur()
    keys.press("Home")
    stands_at(page, 100)
    keys.press("x")
    has((first, 99), (100, last))
    go_to(page, 60)
    keys.press("m")
    has((first, last))
    go_to(page, 40)
    keys.press("[")
    has((40, last))
    keys.press("z")
    has((first, last))
    keys.press("z")
    has((40, last))
    keys.press("Delete", "Enter")
    has()
    # The page has put the focus on nothing that a key would press.
    keys.press("z")
    has((40, last))


def test_a_kept_clip_is_cut_anew_for_another_swimmer(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    guess = take.strip["guesses"][0]
    keys = Keys(page)
    keys.press("s", "v")
    keys.keep(1)

    go_to(page, 60)
    keys.press("c")
    expect(page.get_by_text("Leave it as it is")).to_be_visible()
    stands_at(page, guess["first"])
    keys.press("5", "q", "Enter")
    expect(page.locator(".kept li")).to_contain_text("Sanne Vos")
    expect(page.locator(".kept li")).to_contain_text("fins")
    has_kept(page, (guess["first"], guess["last"]))


def has_kept(page: Page, *marks: tuple[int, int]) -> None:
    expect(page.locator(".kept [data-first]")).to_have_count(len(marks))
    for first, last in marks:
        found = page.locator(f".kept [data-first='{first}'][data-last='{last}']")
        expect(found).to_have_count(1)


def go_to(page: Page, frame: int) -> None:
    page.fill("#id_first_frame", str(frame))
    page.locator("#id_first_frame").blur()
    page.keyboard.press("Home")
    stands_at(page, frame)


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("dark", [False, True])
def test_guesses_are_no_wider_than_the_page(
    open_page, cast: Cast, take: Recording, width: int, dark: bool, shot, assert_accessible
):
    page = open_page(cast.coach, width=width, dark=dark)
    page.goto(reverse("recordings:sorting", args=[take.code]))
    stands_at(page, take.strip["guesses"][0]["first"])
    keys = Keys(page)
    keys.press("s", "v")
    keys.keep(1)
    page.locator(".recut summary").click()

    shot(page, f"sorting-six-{width}-{'dark' if dark else 'light'}", whole=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert_accessible(page)
