"""Consent as a family answers it on a phone, and as the staff see it at a desk."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from portal.people.models import Consent
from tests.browser.conftest import OpenPage, Shot
from tests.cast import assemble

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]


def test_it_works(open_page: OpenPage):
    """All by thumb, without JavaScript; one answer is forgotten first."""
    cast = assemble()
    Consent.objects.all().delete()
    page = open_page(cast.guardian, phone=True, script=False, forgive="status of 422")
    page.goto("/notes/")
    page.get_by_role("link", name=re.compile("Ines’s page")).click()
    page.get_by_role("link", name="Read and change the answers").click()
    for question in ("May we film", "May clips of Ines", "May clips keep", "May Ines have"):
        answers = page.get_by_role("group", name=re.compile(question))
        answers.get_by_role("radio", name=re.compile("^Yes")).check()
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_role("alert")).to_contain_text("One answer is missing.")
    answers = page.get_by_role("group", name=re.compile("picture travel"))
    answers.get_by_role("radio", name=re.compile("^No")).check()
    page.get_by_role("button", name="Keep the answers").click()
    expect(page.get_by_text("Your answers are kept.")).to_be_visible()
    said = Consent.objects.filter(answered_by=cast.guardian).values_list("purpose", "is_given")
    assert dict(said)["mail stills"] is False
    assert sum(dict(said).values()) == 4


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool
):
    cast = assemble()
    cast.club.policy = "Two adults are at the pool.\n\nNo film in changing rooms."
    cast.club.policy_edition = "autumn 2026"
    cast.club.save()
    guardian = open_page(cast.guardian, width=width, height=800, dark=dark)
    swimmer = open_page(cast.swimmer_user, width=width, height=800, dark=dark)
    coach = open_page(cast.coach, width=width, height=800, dark=dark)
    code = cast.swimmer.code
    for page, name, address in [
        (guardian, "questions", f"/children/{code}/questions/"),
        (guardian, "child", f"/children/{code}/"),
        (swimmer, "child-own", f"/children/{code}/"),
        (guardian, "policy", f"/policy/{cast.club.code}/"),
        (coach, "consents-squad", f"/squads/{cast.squad.code}/consent/"),
        (coach, "consents", f"/swimmers/{code}/consent/"),
    ]:
        page.goto(address)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(wide) == 0, name
