from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.planning.models import Plan, Seat
from tests.cast import DAY, Cast, make_swimmer, signed_in
from tests.items.seen import fault
from tests.planning.openings import NEW, NOT_LEGAL, has
from tests.planning.test_proposing import propose, where

PRACTICE = {"date": "2026-11-20", "lane_count": "2", "seats": "3", "stroke": "breast"}


def address(plan: Plan, name: str = "plan") -> str:
    return reverse(f"planning:{name}", args=[plan.code])


def test_it_works(as_coach: Client, cast: Cast):
    has(cast, cast.swimmer, fault("heels"), NOT_LEGAL)
    page = as_coach.post(
        reverse("planning:plans"), {**PRACTICE, "squad": cast.squad.pk}, follow=True
    ).content.decode()

    assert "Lanes for Friday" in page
    assert "Good heels" in page
    assert "Of the one swimmer with something open, 1 swims in a lane" in page
    assert "never looked at on film" in page

    as_coach.post(address(Plan.objects.get()), {"act": "keep"})
    assert "kept by Marta Lind" in as_coach.get(reverse("planning:plans")).content.decode()


@pytest.mark.parametrize(
    "wrong",
    [{"lane_count": "0"}, {"seats": "40"}, {"date": ""}, {"stroke": "crawl"}, {"squad": "0"}],
)
def test_what_cannot_be(as_coach: Client, cast: Cast, wrong: dict[str, str]):
    typed = {**PRACTICE, "squad": str(cast.squad.pk), **wrong}
    response = as_coach.post(reverse("planning:plans"), typed)
    assert response.status_code == 422
    assert 'class="field wrong"' in response.content.decode()
    assert not Plan.objects.exists()


def test_an_assistant_reads_and_changes_nothing(cast: Cast):
    plan = propose(cast)
    page = signed_in(cast.assistant).get(address(plan)).content.decode()
    assert "Propose again" not in page
    assert "<form" not in page.split("<main")[1].split("</main")[0]


def test_a_coach_proposes_only_for_own_squads(cast: Cast):
    typed = {**PRACTICE, "squad": cast.squad.pk}
    for person in (cast.assistant, cast.other_coach):
        assert signed_in(person).post(reverse("planning:plans"), typed).status_code == 422
    assert not Plan.objects.exists()


def test_a_name_moves_and_is_held(as_coach: Client, cast: Cast):
    plan = propose(cast)
    name = {"swimmer": cast.swimmer.code}
    page = as_coach.post(address(plan, "seat"), {**name, "to": "2"}, follow=True).content.decode()
    assert "Ines swims in lane 2." in page
    assert where(plan) == {"Ines": 2}
    assert Seat.objects.get().is_held

    as_coach.post(address(plan, "seat"), {**name, "to": "let go"})
    assert not Seat.objects.get().is_held
    as_coach.post(address(plan, "seat"), {**name, "to": "out"})
    assert where(plan) == {}


@pytest.mark.parametrize("to", ["9", "", "sink"])
def test_no_such_lane(as_coach: Client, cast: Cast, to: str):
    plan = propose(cast)
    response = as_coach.post(address(plan, "seat"), {"swimmer": cast.swimmer.code, "to": to})
    assert response.status_code == 422
    assert "no such lane" in response.content.decode()


def test_a_swimmer_of_another_squad_is_refused(as_coach: Client, cast: Cast):
    other = make_swimmer(cast.club, cast.other_squad, "Bo Carr", born=date(2010, 1, 1))
    plan = propose(cast)
    for code in (other.code, "nobody"):
        response = as_coach.post(address(plan, "seat"), {"swimmer": code, "to": "1"})
        assert response.status_code == 422
    assert where(plan) == {}


def test_a_lane_is_renamed_held_and_given_a_theme(as_coach: Client, cast: Cast):
    heels = fault("heels")
    has(cast, cast.swimmer, heels, NEW)
    plan = propose(cast)
    second = plan.lanes.get(number=2)
    lane = reverse("planning:lane", args=[second.code])

    as_coach.post(lane, {"act": "theme", "theme": f"breast {heels.checkpoint_id}"})
    as_coach.post(lane, {"title": "Quiet feet", "dose": "2 x 50"})
    second.refresh_from_db()
    assert (second.name, second.dose, second.is_held) == ("Quiet feet", "2 x 50", True)

    as_coach.post(lane, {"act": "let go"})
    second.refresh_from_db()
    assert not second.is_held
    assert as_coach.post(lane, {"title": "x" * 81}).status_code == 422


def test_the_sheet_names_everybody_and_the_cautions(as_coach: Client, cast: Cast):
    has(cast, cast.swimmer, fault("heels"))
    plan = propose(cast)
    page = as_coach.get(address(plan, "sheet")).content.decode()
    assert "Ines Falk" in page
    assert "Without a lane: Noor Haan." in page
    assert "Pool rules, lifeguards and medical staff come first." in page


def test_forty_swimmers_take_no_more_queries_than_two(as_coach: Client, cast: Cast):
    heels = fault("heels")
    has(cast, cast.swimmer, heels)
    plan = propose(cast, lanes=6, seats=8)

    def count() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            as_coach.get(address(plan))
        return len(queries)

    few = count()
    for number in range(40):
        name = f"Kid{number:02d} Brook"
        has(cast, make_swimmer(cast.club, cast.squad, name, born=DAY - timedelta(days=4000)), heels)
    plan.delete()
    plan = propose(cast, lanes=6, seats=8)
    assert count() == few
    assert few < 14
