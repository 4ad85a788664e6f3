"""Sorting a take by keyboard alone, and what the page does when something is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from portal.recordings.models import Clip, Recording
from tests.cast import Cast
from tests.media import film
from tests.recordings.films import make_ready


@pytest.fixture
def take(cast: Cast, tmp_path: Path, transactional_db) -> Recording:
    return make_ready(cast, film(tmp_path / "lane 4.mp4", frames=150))


def open_table(open_page, cast: Cast, take: Recording, **options) -> Page:
    page: Page = open_page(cast.coach, **options)
    page.goto(reverse("recordings:sorting", args=[take.code]))
    stands_at(page, 0)
    return page


def stands_at(page: Page, frame: int) -> None:
    expect(page.locator("[data-place]")).to_have_text(f"frame {frame} of 150")


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def go(page: Page, frame: int, *, start: int) -> None:
    """By tens and ones, as somebody at the keys would."""
    tens, ones = divmod(frame - start, 10)
    press(page, *["Shift+ArrowRight"] * tens, *["ArrowRight"] * ones)
    stands_at(page, frame)


def value(page: Page, name: str) -> str:
    return page.input_value(f"#id_{name}")


def test_two_swimmers_by_keyboard(open_page, cast: Cast, take: Recording, assert_accessible):
    page = open_table(open_page, cast, take)
    assert_accessible(page)

    go(page, 12, start=0)
    press(page, "i")
    go(page, 55, start=12)
    press(page, "o", "1", "s", "s", "s", "v", "e", "q", "Enter")
    expect(page.locator(".kept [data-first]")).to_have_count(1)
    assert value(page, "first_frame") == "56"
    expect(page.get_by_label("Noor Haan", exact=False)).to_be_checked()
    go(page, 70, start=55)
    press(page, "i")
    go(page, 121, start=70)
    press(page, "o", "Enter")
    expect(page.locator(".kept [data-first]")).to_have_count(2)

    first, second = Clip.objects.order_by("first_frame")
    assert (first.first_frame, first.last_frame) == (12, 55)
    assert list(first.swimmers.all()) == [cast.swimmer]
    assert (first.stroke, first.view, first.effort) == ("breast", "side-underwater", "race")
    assert (second.first_frame, second.last_frame) == (70, 121)
    assert list(second.swimmers.all()) == [cast.mate]
    assert (second.stroke, second.view, second.effort) == ("breast", "side-underwater", "race")
    assert (first.equipment, second.equipment) == ("fins", "fins")
    expect(page.locator(".take .cutmark")).to_have_count(2)
    assert_accessible(page)


def test_a_swimmer_by_name_and_one_more(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)

    press(page, "n")
    page.keyboard.type("Zoe")
    press(page, "Enter")
    expect(page.locator("#cut")).to_contain_text("Nobody on this list is called “Zoe”.")
    page.fill("#byname", "noo")
    press(page, "Enter", "a", "1")

    expect(page.locator("[name=swimmers]:checked")).to_have_count(2)
    expect(page.locator("#byname")).not_to_be_focused()


def test_what_is_refused_loses_nothing(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take, forgive="422")
    go(page, 20, start=0)
    press(page, "o", "i", "1", "v", "Enter")

    expect(page.locator("#cut")).to_contain_text("Choose one.")
    press(page, "s", "Enter")
    expect(page.get_by_role("alert").first).to_contain_text("is not after the beginning")
    assert (value(page, "first_frame"), value(page, "last_frame")) == ("20", "20")
    expect(page.get_by_label("Ines Falk", exact=False)).to_be_checked()
    assert not Clip.objects.exists()
    page.fill("#id_last_frame", "60")
    page.locator("#id_last_frame").press("Enter")

    expect(page.locator(".kept li[data-last='60']")).to_have_count(1)


def test_a_lost_line_loses_nothing(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take, forgive="ERR_INTERNET_DISCONNECTED|htmx")
    page.fill("#id_last_frame", "60")
    page.locator("#id_last_frame").blur()
    press(page, "1", "s", "v")
    page.context.set_offline(True)

    press(page, "Enter")

    expect(page.locator("[data-lost]")).to_be_visible()
    page.context.set_offline(False)
    press(page, "Enter")
    expect(page.locator(".kept li[data-last='60']")).to_have_count(1)


def test_keys_are_dead_where_somebody_types_and_when_switched_off(
    open_page, cast: Cast, take: Recording
):
    page = open_table(open_page, cast, take)
    page.focus("#byname")
    page.keyboard.type("sve")
    expect(page.locator("[name=stroke]:checked")).to_have_count(0)
    page.locator("#byname").blur()

    press(page, "?")
    page.get_by_label("Single keys work on this computer").uncheck()
    page.get_by_role("button", name="Close").click()
    press(page, "s", "i", "ArrowRight")

    expect(page.locator("[name=stroke]:checked")).to_have_count(0)
    page.reload()
    stands_at(page, 0)
    press(page, "s")
    expect(page.locator("[name=stroke]:checked")).to_have_count(0)


def test_the_take_is_a_slider(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    slider = page.get_by_role("slider", name="Place in the take")

    slider.press("End")
    stands_at(page, 149)
    slider.press("Shift+ArrowLeft")
    stands_at(page, 139)
    slider.click(position={"x": 2, "y": 60})
    expect(slider).to_have_attribute("aria-valuetext", "0:00.00, frame 0 of 149")


def test_an_end_of_the_mark_is_dragged(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    page.fill("#id_first_frame", "30")
    page.fill("#id_last_frame", "90")
    hold = page.locator(".take .hold").last.bounding_box()
    slider = page.locator("[data-take]").bounding_box()
    assert hold
    assert slider

    page.mouse.move(hold["x"] + hold["width"] / 2, hold["y"] + 20)
    page.mouse.down()
    page.mouse.move(slider["x"] + slider["width"] * 120.4 / 149, hold["y"] + 20, steps=4)
    page.mouse.up()

    stands_at(page, 120)
    assert (value(page, "first_frame"), value(page, "last_frame")) == ("30", "120")


def test_removing_a_clip(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take)
    page.fill("#id_last_frame", "60")
    page.locator("#id_last_frame").blur()
    press(page, "1", "s", "v", "Enter")
    expect(page.locator(".take .cutmark")).to_have_count(1)

    page.locator("summary", has_text="Remove Ines Falk").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".take .cutmark")).to_have_count(1)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")

    expect(page.locator(".take .cutmark")).to_have_count(0)
    assert Clip.objects.count() == 1
    assert Clip.objects.get().removed_at


def test_without_scripts(open_page, cast: Cast, take: Recording):
    page = open_page(cast.coach, script=False)
    page.goto(reverse("recordings:sorting", args=[take.code]))
    page.fill("#id_last_frame", "60")
    page.locator("label", has_text="breaststroke").click()
    page.locator("label", has_text="side, under water").click()

    page.get_by_role("button", name="Keep, next swimmer").click()

    expect(page.locator(".messages")).to_contain_text("Kept: Ines Falk.")
    assert Clip.objects.get().last_frame == 60


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("dark", [False, True])
def test_nothing_is_wider_than_the_page(open_page, cast: Cast, take: Recording, width, dark, shot):
    page = open_page(cast.coach, width=width, dark=dark)
    tone = "dark" if dark else "light"
    for name, address in [
        ("sessions", reverse("recordings:sessions")),
        ("new-session", reverse("recordings:new_session")),
        ("session", reverse("recordings:session", args=[cast.session.code])),
        ("sorting", reverse("recordings:sorting", args=[take.code])),
    ]:
        page.goto(address)
        page.wait_for_load_state("networkidle")
        shot(page, f"{name}-{width}-{tone}", whole=True)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name


@pytest.mark.parametrize("width", [360, 1440])
def test_slow_motion_in_doubt_is_asked(
    open_page, cast: Cast, take: Recording, width: int, shot, assert_accessible
):
    take.facts["filmed_rate"] = 240.0
    take.save(update_fields=["facts"])
    page = open_page(cast.coach, width=width)
    page.goto(reverse("recordings:sorting", args=[take.code]))
    stands_at(page, 0)
    shot(page, f"sorting-slow-{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert_accessible(page)

    page.get_by_role("button", name="Slow motion, filmed at 240").click()

    expect(page.locator(".messages")).to_contain_text("30 frames a second, filmed at 240")
    page.get_by_text("8 times slower than swum").click()
    page.get_by_role("button", name="It plays as it was swum").click()
    expect(page.get_by_text("Slow motion", exact=True)).to_be_visible()


def test_where_fingers_press_no_key_is_named(open_page, cast: Cast, take: Recording):
    page = open_table(open_page, cast, take, phone=True)

    expect(page.locator("main kbd:visible")).to_have_count(0)
    expect(page.get_by_role("button", name="In here")).to_be_visible()
