from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.people import consenting
from portal.people.models import Consent
from portal.poolside import lining
from portal.poolside.models import Turn
from tests.cast import NOW, Cast, consent_to_all, make_swimmer, signed_in

HTMX = {"HX-Request": "true"}


def address(cast: Cast) -> str:
    return reverse("poolside:film_list", args=[cast.session.code])


def post(client: Client, turn: Turn, act: str, **options):
    return client.post(reverse("poolside:turn", args=[turn.code]), {"act": act}, **options)


def test_it_works(as_coach: Client, cast: Cast):
    page = as_coach.get(address(cast)).content.decode()
    assert "Nobody is on the list yet" in page

    as_coach.post(address(cast), {"swimmer": "all"})
    turn = Turn.objects.get(swimmer=cast.swimmer)
    page = post(as_coach, turn, "filmed", follow=True).content.decode()

    assert f"{cast.swimmer.first_name} is filmed." in page
    assert "1 swimmer<" in page


def test_the_session_leads_to_it(as_coach: Client, cast: Cast):
    page = as_coach.get(reverse("recordings:session", args=[cast.session.code]))
    assert f'href="{address(cast)}"' in page.content.decode()


def test_with_script_only_the_list_comes_back(as_coach: Client, cast: Cast):
    lining.put(cast.session, [cast.swimmer, cast.mate])
    turn = Turn.objects.get(swimmer=cast.swimmer)
    page = post(as_coach, turn, "filmed", headers=HTMX).content.decode()

    assert page.strip().startswith('<div class="lists"')
    assert f"{cast.swimmer.first_name} is filmed." in page
    assert "autofocus" in page


def test_wishes_are_kept_and_shown(as_coach: Client, cast: Cast):
    lining.put(cast.session, [cast.swimmer])
    turn = Turn.objects.get()
    wishes = reverse("poolside:wishes", args=[turn.code])
    as_coach.post(wishes, {"lane": "3", "view": "side-underwater", "repeats": "2"})
    assert "lane 3, side, under water, 2 times" in as_coach.get(address(cast)).content.decode()


@pytest.mark.parametrize(
    "typed", [{"lane": "11", "repeats": "1"}, {"lane": "", "repeats": "0"}, {"view": "inside"}]
)
def test_impossible_wishes(as_coach: Client, cast: Cast, typed: dict[str, str]):
    lining.put(cast.session, [cast.swimmer])
    turn = Turn.objects.get()
    response = as_coach.post(reverse("poolside:wishes", args=[turn.code]), typed)
    assert response.status_code == 422
    assert 'class="field wrong"' in response.content.decode()
    turn.refresh_from_db()
    assert (turn.lane, turn.view, turn.repeats) == (None, "", 1)


def test_a_refusal_says_why(as_coach: Client, cast: Cast):
    lining.put(cast.session, [cast.swimmer])
    consenting.answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.guardian, at=NOW)
    response = post(as_coach, Turn.objects.get(), "filmed")
    assert response.status_code == 422
    assert "may not be filmed any more" in response.content.decode()


def test_an_unknown_act_changes_nothing(as_coach: Client, cast: Cast):
    lining.put(cast.session, [cast.swimmer])
    response = post(as_coach, Turn.objects.get(), "sink")
    assert response.headers["Location"] == address(cast)
    assert Turn.objects.get().is_waiting


def test_forty_swimmers_take_no_more_queries_than_two(cast: Cast):
    def count() -> int:
        client = signed_in(cast.coach)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(cast)).status_code == 200
        return len(queries)

    lining.put(cast.session, [cast.swimmer, cast.mate])
    few = count()
    for number in range(38):
        child = make_swimmer(cast.club, cast.squad, f"Child {number}", born=cast.swimmer.born)
        consent_to_all(child, cast.guardian)
        lining.put(cast.session, [child])
    assert count() == few <= 12
