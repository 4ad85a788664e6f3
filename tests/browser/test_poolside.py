"""The film list, as somebody holds it at the pool."""

from __future__ import annotations

from datetime import date

import pytest
from playwright.sync_api import Locator, Page, expect

from portal.poolside import lining
from portal.poolside.models import Turn
from portal.recordings import listing
from tests.browser.conftest import OpenPage, Shot
from tests.cast import NOW, Cast, consent_to_all, make_swimmer

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
NAMES = ["Mirela Dunăreanu-Whitcombe", "Otis Farrow", "Petra Vanter", "Leni Falkner"]


@pytest.fixture
def squad(cast: Cast) -> Cast:
    """Six who may be filmed, and one who may not."""
    for name in NAMES:
        consent_to_all(
            make_swimmer(cast.club, cast.squad, name, born=date(2013, 1, 1)), cast.guardian
        )
    make_swimmer(cast.club, cast.squad, "Rui Unasked", born=date(2013, 1, 1))
    return cast


def address(cast: Cast) -> str:
    return f"/sessions/{cast.session.code}/film-list/"


def waiting(page: Page) -> list[str]:
    return rows(page).locator(".whom b").all_inner_texts()


def rows(page: Page) -> Locator:
    return page.get_by_role("region", name="To be filmed", exact=True).locator(".turn")


@pytest.mark.parametrize("script", [True, False])
def test_it_works(open_page: OpenPage, squad: Cast, script: bool):
    page = open_page(squad.coach, width=360, height=740, script=script)
    page.goto(address(squad))
    page.get_by_role("button", name="Put the squad on the list").click()
    expect(page.get_by_role("heading", name="To be filmed", exact=True)).to_be_visible()
    order = waiting(page)
    assert len(order) == 6

    page.get_by_role("button", name=f"Filmed {order[0]}").click()
    page.get_by_role("region", name="Filmed", exact=True).wait_for()
    page.get_by_text(f"Order, lane and view {order[5]}").click()
    page.get_by_role("button", name="To the top").last.click()
    expect(page.locator(".turn.is-next b").first).to_have_text(order[5])
    page.get_by_role("button", name=f"Filmed {order[5]}").click()
    expect(page.get_by_role("region", name="Filmed", exact=True).locator("b")).to_have_text(
        [order[0], order[5]]
    )
    assert waiting(page) == order[1:5]
    squad.session.refresh_from_db()
    roster = listing.roster(squad.session).may_be_filmed
    assert [swimmer.name for swimmer in roster] == [order[0], order[5], *order[1:5]]


def test_the_keys_alone_tick_the_whole_list(open_page: OpenPage, squad: Cast):
    lining.put(squad.session, listing.may_be_filmed(squad.session))
    page = open_page(squad.coach)
    page.goto(address(squad))
    page.get_by_role("button", name="Filmed").first.focus()
    for left in range(5, -1, -1):
        page.keyboard.press("Enter")
        expect(rows(page)).to_have_count(left)
        if left:
            expect(page.locator(".turn.is-next > form button")).to_be_focused()
    expect(page.get_by_text("Everybody on the list had a turn.")).to_be_visible()
    assert not Turn.objects.filter(filmed_at=None).exists()


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_page_is_sound(
    open_page: OpenPage, squad: Cast, shot: Shot, assert_accessible, width: int, dark: bool
):
    page = open_page(squad.coach, width=width, height=740, dark=dark)
    tone = "-dark" if dark else ""
    page.goto(address(squad))
    shot(page, f"film-list-empty-{width}{tone}", whole=True)
    assert_accessible(page)
    most = listing.may_be_filmed(squad.session)
    lining.put(squad.session, most[:5])
    lining.tick(Turn.objects.select_related("session")[0], at=NOW)
    lining.scratch(Turn.objects.select_related("session")[4], at=NOW)
    Turn.objects.filter(swimmer=most[2]).update(lane=3, view="side-underwater", repeats=2)
    page.reload()
    page.get_by_text("Order, lane and view").nth(1).click()
    shot(page, f"film-list-{width}{tone}", whole=True)
    assert_accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    thin = "(e) => e.map((b) => b.getBoundingClientRect()).filter((b) => b.height < 44).length"
    assert page.locator(".lists button, .lists summary").evaluate_all(thin) == 0
