"""From the invitation in a phone's mail program to the child's notes; and the staff's pages."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from portal.jobs import running
from portal.jobs.models import Job
from portal.people.models import Guardianship, SquadPlace, Swimmer
from portal.review.models import Review
from portal.roster import enrolling, guarding, inviting
from portal.roster.parsing import Named
from tests.browser.conftest import OpenPage, Shot
from tests.cast import Cast, assemble, make_swimmer
from tests.mailroom.relay import Relay, relay
from tests.notes import staging

PHONE = {"width": 390, "height": 844}
SIZES = [(360, False), (390, True), (1440, False), (1440, True)]
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


class Thumb:
    """Counts what somebody taps."""

    taps = 0

    def tap(self, what: Locator) -> None:
        what.click()
        self.taps += 1


def work() -> None:
    now = timezone.now()
    for job in Job.objects.filter(state=Job.State.QUEUED, due_at__lte=now):
        running.run_one(job.code, worker="tests", at=now)


def show_mail(page: Page, server: Relay, address: str, live: str) -> None:
    """The newest mail to that address, as a mail program shows it."""
    [number] = [n for n, each in enumerate(server.taken) if address in each.rcpt_tos][-1:]
    body = server.message(number).get_body(("html",))
    assert body is not None
    page.set_content(body.get_content().replace("http://localhost:8000", live))


def code_in(server: Relay) -> str:
    body = server.message(-1).get_body(("plain",))
    assert body is not None
    found = re.search(r"\b\w{4}-\w{4}\b", body.get_content())
    assert found
    return found[0]


def test_it_works(open_page: OpenPage, shot: Shot, assert_accessible, live_server):
    """At most four taps and one code; the year and the consent form itself are not counted."""
    cast = assemble()
    review = staging.evening(cast)
    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)
    child, address = review.swimmer, "ole@example.org"
    thumb = Thumb()
    with relay() as server:
        invite(cast, child, address)
        work()
        page = open_page(**PHONE)
        show_mail(page, server, address, live_server.url)
        shot(page, "invitation-390", whole=True)
        assert_accessible(page)
        thumb.tap(page.get_by_role("link", name="Open the questions"))
        page.get_by_label("E-mail").fill(address)
        shot(page, "welcome-390", whole=True)
        thumb.tap(page.get_by_role("button", name="Send me a code"))
        expect(page.get_by_label("Code")).to_be_visible()
        work()
        page.get_by_label("Code").fill(code_in(server))
        page.get_by_label("Year the swimmer was born").fill(str(child.born.year))
        shot(page, "welcome-code-390", whole=True)
        assert_accessible(page)
        thumb.tap(page.get_by_role("button", name="Go on"))
        for question in page.get_by_role("group").all():
            question.get_by_role("radio").first.check()
        page.get_by_role("button", name="Keep the answers").click()
        thumb.tap(page.get_by_role("link", name="Read the notes"))
    page.get_by_role("heading", name=f"{child.first_name}: notes").wait_for()
    assert thumb.taps <= 4
    assert Guardianship.objects.get(guardian__email=address).is_accepted


def invite(cast: Cast, child: Swimmer, address: str) -> None:
    now = timezone.now()
    who: dict[str, Any] = {"by": cast.head_coach, "at": now}
    today = cast.club.day(now)
    tie = enrolling.name_guardian(child, Named("Ole Falk", address), on=today, **who)
    inviting.invite_guardians([tie], **who)


def test_without_script(open_page: OpenPage, live_server):
    cast = assemble()
    with relay() as server:
        invite(cast, cast.swimmer, "ole@example.org")
        work()
        page = open_page(**PHONE, script=False)
        page.goto("/welcome/")
        page.get_by_label("E-mail").fill("ole@example.org")
        page.get_by_role("button", name="Send me a code").click()
        expect(page.get_by_label("Code")).to_be_visible()
        work()
        page.get_by_label("Code").fill(code_in(server))
        page.get_by_label("Year the swimmer was born").fill("1999")
        page.get_by_role("button", name="Go on").click()
        assert page.get_by_role("alert").inner_text().startswith("That does not fit together.")
        page.get_by_label("Year the swimmer was born").fill("2012")
        page.get_by_role("button", name="Go on").click()
    assert "/questions/" in page.url


def club(cast: Cast) -> None:
    """With one of everything that the pages show."""
    now = timezone.now()
    who: dict[str, Any] = {"by": cast.head_coach, "at": now}
    make_swimmer(cast.club, cast.squad, "Maximiliane Featherstonehaugh", born=cast.mate.born)
    grown = make_swimmer(
        cast.club, cast.squad, "Kit Old", born=now.date().replace(year=2008, day=1)
    )
    Guardianship.objects.create(
        guardian=cast.mate_guardian, swimmer=grown, starts=cast.swimmer.places.get().starts
    )
    invite(cast, cast.swimmer, "una.featherstonehaugh-falk@example.org")
    guarding.bar(cast.swimmer.guardianships.get(guardian=cast.co_guardian), on=now.date(), **who)
    gone = make_swimmer(cast.club, cast.squad, "Gwen Gone", born=cast.mate.born)
    SquadPlace.objects.filter(swimmer=gone).update(ends=now.date())


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_staffs_pages(
    open_page: OpenPage, shot: Shot, assert_accessible, settings, width: int, dark: bool
):
    settings.STAFF_FACTOR = False
    cast = assemble()
    club(cast)
    page = open_page(cast.head_coach, width=width, dark=dark)
    name = f"roster-{{}}-{width}{'-dark' if dark else ''}"
    squad, swimmer = (
        f"/squads/{cast.squad.code}/people/",
        f"/swimmers/{cast.swimmer.code}/people/",
    )
    for address, what in [
        (squad, "squad"),
        (swimmer, "swimmer"),
        (f"{squad}add/", "add"),
        (f"{squad}list/", "list"),
    ]:
        page.goto(address)
        if what == "list":
            page.get_by_label("The list").fill(
                "first name,last name,born,squad,guardian 1 name,guardian 1 address\n"
                "Ida,Brook,2013-04-01,,Ole Brook,ole@example.org\n"
                "Ines,Falk,2012-05-03,Seniors,Ada Falk,ada.falk@example.org\n"
                "Noor,Haan,2012-08-09,,Samir Haan,samir.haan@example.org\n"
                "Odd,Fellow,3/4/2013,Herons,Una,una at home\n"
            )
            page.get_by_role("button", name="Look at it first").click()
            page.get_by_role("heading", name="What the list would do").wait_for()
        shot(page, name.format(what), whole=True)
        assert_accessible(page)
        assert page.evaluate(WIDER) == 0, what


@pytest.mark.parametrize(("width", "dark"), [(360, False), (390, True)])
def test_a_childs_own_sign_in(
    open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool
):
    cast = assemble()
    Swimmer.objects.filter(pk=cast.mate.pk).update(user=None)
    page = open_page(cast.mate_guardian, width=width, dark=dark)
    page.goto(f"/children/{cast.mate.code}/sign-in/")
    shot(page, f"roster-own-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
    assert page.evaluate(WIDER) == 0
    page.get_by_label("Noor’s own address").fill("noor.own@example.org")
    page.get_by_role("button", name="I agree: invite").click()
    assert page.get_by_text("The invitation is on its way").is_visible()
