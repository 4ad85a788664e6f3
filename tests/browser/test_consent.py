"""Consent as a family answers it on a phone, and as the staff see it at a desk."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from portal.people import consenting
from portal.people.models import Club, Consent, Swimmer
from portal.recordings.models import Clip, Recording
from portal.review import publishing
from tests.browser.conftest import OpenPage, Shot
from tests.cast import DAY, NOW, Cast, assemble
from tests.media import film
from tests.notes import staging

SIZES = [(360, False), (390, True), (1440, False), (1440, True)]
POLICY = "Two adults are at the pool whenever somebody films.\n\nNo film in changing rooms."


def written_policy(**fields: object) -> None:
    Club.objects.update(
        policy=POLICY, policy_edition="autumn 2026", policy_reviewed_on=DAY, **fields
    )


def answer(page: Page, question: str, word: str) -> None:
    group = page.get_by_role("group", name=re.compile(question))
    group.get_by_role("radio", name=re.compile(f"^{word}")).check()


def test_it_works(open_page: OpenPage, shot: Shot):
    """All by thumb, on the narrowest phone, without JavaScript; one answer is forgotten first."""
    cast = assemble()
    written_policy()
    Consent.objects.all().delete()
    page = open_page(cast.guardian, width=360, height=740, script=False, forgive="status of 422")
    page.goto("/notes/")
    page.get_by_role("link", name=re.compile("Ines’s page")).click()
    page.get_by_role("link", name=re.compile("^Answer.*Film Ines swimming")).click()
    page.get_by_text("The club’s policy on film and pictures").click()
    expect(page.get_by_text("Two adults are at the pool")).to_be_visible()
    expect(page.get_by_role("radio", checked=True)).to_have_count(0)
    for question in ("May we film", "May clips of Ines", "May clips keep", "May Ines have"):
        answer(page, question, "Yes")
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_role("alert")).to_contain_text("One answer is missing.")
    shot(page, "questions-missing-360", whole=True)
    page.get_by_role("link", name="Question 3: A picture in the mail").click()
    expect(page.get_by_role("group", name=re.compile("picture travel"))).to_be_in_viewport()
    answer(page, "picture travel", "No")
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_text("Your answers are kept.")).to_be_visible()
    said = Consent.objects.filter(answered_by=cast.guardian).values_list("purpose", "is_given")
    assert dict(said)["mail stills"] is False
    assert sum(dict(said).values()) == 4


def published(cast: Cast) -> None:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    staging.copy_clip(Clip.objects.get())


def test_a_clip_is_hidden_and_shown_again(open_page: OpenPage, shot: Shot, assert_accessible):
    cast = assemble()
    published(cast)
    page = open_page(cast.swimmer_user, width=360, height=740, script=False)
    page.goto("/notes/")
    page.get_by_role("link", name=re.compile("19 November")).click()
    expect(page.get_by_role("img", name=re.compile("side"))).to_have_count(3)

    page.get_by_role("button", name="Please hide this clip").first.click()

    expect(page.get_by_text("Only the welfare officer can still see it")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("side"))).to_have_count(0)
    shot(page, "hidden-360", whole=True)
    coach = open_page(cast.coach)
    coach.goto(f"/sessions/{cast.session.code}/")
    expect(coach.get_by_text("hidden at the family’s wish")).to_be_visible()
    expect(coach.get_by_text("Shut: somebody in it is not to be seen.")).to_be_visible()
    shot(coach, "session-hidden-1440")
    coach.get_by_role("link", name="Ines", exact=True).click()
    expect(coach.get_by_text("This clip is hidden at the family’s wish.")).to_be_visible()
    expect(coach.locator("video")).to_have_count(0)
    assert_accessible(coach)
    shot(coach, "bench-hidden-1440")

    page.get_by_role("button", name="Show it again").first.click()
    expect(page.get_by_role("img", name=re.compile("side"))).to_have_count(3)


@pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without"])
def test_film_comes_in_as_not_to_be_shown(
    open_page: OpenPage, shot: Shot, tmp_path: Path, assert_accessible, script: bool
):
    cast = assemble()
    page = open_page(cast.coach, script=script)
    page.goto(f"/sessions/{cast.session.code}/")
    page.get_by_role("checkbox", name=re.compile("Somebody without consent is in it")).check()
    page.set_input_files("#film", film(tmp_path / "lane 2.mp4", frames=30))
    if not script:
        page.get_by_role("button", name="Bring it in").click()

    expect(page.locator("#takes")).to_contain_text("Not to be shown: coaches look")
    assert Recording.objects.get().not_to_be_shown
    if script:
        expect(page.locator(".up li")).to_contain_text("Not to be shown")
        assert_accessible(page)
        shot(page, "not-to-be-shown-1440")


def test_a_shut_film_is_told_calmly(open_page: OpenPage, shot: Shot, assert_accessible):
    cast = assemble()
    published(cast)
    consenting.answer(
        cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.co_guardian, at=NOW
    )
    page = open_page(cast.coach)
    page.goto(f"/recordings/{Recording.objects.get().code}/")

    expect(page.get_by_role("heading", name="This film is shut")).to_be_visible()
    expect(page.locator("video")).to_have_count(0)
    assert_accessible(page)
    shot(page, "shut-1440")


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool
):
    cast = assemble()
    Consent.objects.filter(swimmer=cast.mate, purpose=Consent.Purpose.VOICE).delete()
    written_policy()
    guardian = open_page(cast.guardian, width=width, height=800, dark=dark)
    swimmer = open_page(cast.swimmer_user, width=width, height=800, dark=dark)
    coach = open_page(cast.coach, width=width, height=800, dark=dark)
    code = cast.swimmer.code
    pages = [
        (guardian, "questions", f"/children/{code}/questions/"),
        (guardian, "child", f"/children/{code}/"),
        (swimmer, "child-own", f"/children/{code}/"),
        (guardian, "policy", f"/policy/{cast.club.code}/"),
        (coach, "consents-squad", f"/squads/{cast.squad.code}/consent/"),
        (coach, "consents", f"/swimmers/{code}/consent/"),
    ]
    for page, name, address in pages:
        sound(page, address, assert_accessible)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=date(2008, 1, 1))
    sound(swimmer, f"/children/{code}/", assert_accessible)
    shot(swimmer, f"child-grown-{width}{'-dark' if dark else ''}", whole=True)


def sound(page: Page, address: str, assert_accessible) -> None:
    page.goto(address)
    assert_accessible(page)
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) == 0, address
