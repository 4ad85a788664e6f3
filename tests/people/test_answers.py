"""Consents as the staff's pages show them, answers on paper, and the club's policy."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from portal.audit.models import Entry
from portal.people import consenting, recent
from portal.people.models import Club, Consent, Guardianship, Swimmer
from tests.cast import DAY, NOW, Cast, consent_to_all, make_swimmer, make_user, signed_in

Purpose = Consent.Purpose


def page_of(cast: Cast) -> str:
    return f"/swimmers/{cast.swimmer.code}/consent/"


def form(cast: Cast, **other: str) -> dict[str, str]:
    return {
        "guardian": str(cast.guardian.code),
        "purpose": "show",
        "answer": "no",
        "way": "paper",
        "signed_on": timezone.now().date().isoformat(),
        **other,
    }


def test_it_works(cast: Cast, as_coach: Client):
    Consent.objects.all().delete()
    page = as_coach.get(page_of(cast)).content.decode()
    assert page.count('<td class="open">not answered') == 5
    assert page.count("Ada Falk: not answered") == 5

    as_coach.post(page_of(cast), form(cast, answer="yes"))

    consent = Consent.objects.get()
    assert (consent.way, consent.recorded_by, consent.is_given) == ("paper", cast.coach, True)
    page = as_coach.get(page_of(cast)).content.decode()
    assert "on paper of" in page
    assert "(entered by Marta Lind)" in page
    assert page.count('<td class="open">not answered') == 4
    assert page.count("Ada Falk: not answered") == 4
    assert page.count("Bela Korda: not answered") == 5


def test_an_assistant_sees_yes_or_no_and_nobody_s_name(cast: Cast):
    client = signed_in(cast.assistant)
    page = client.get(page_of(cast)).content.decode()

    assert page.count(">yes<") == 5
    assert cast.guardian.name not in page
    assert client.post(page_of(cast), form(cast)).status_code == 403
    assert Consent.objects.filter(way="paper").count() == 0


@pytest.mark.parametrize("name", ["other_coach", "rival_coach", "guardian", "swimmer_user"])
def test_others_find_nothing(cast: Cast, name: str):
    client = signed_in(getattr(cast, name))

    assert client.get(page_of(cast)).status_code == 404
    assert client.post(page_of(cast), form(cast)).status_code == 404


def test_hearsay_is_taken_for_a_no_only(cast: Cast, as_coach: Client):
    refused = as_coach.post(page_of(cast), form(cast, way="told", answer="yes"))
    assert "take a signed form" in refused.content.decode()
    as_coach.post(page_of(cast), form(cast, way="told", signed_on=""))

    assert Consent.objects.get(way="told").is_given is False
    assert not consenting.allowed(Purpose.SHOW, of=[cast.swimmer], on=DAY)


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"signed_on": ""}, "Type the date that stands on the form."),
        ({"signed_on": "2099-01-01"}, "still to come"),
        ({"signed_on": "2020-01-01"}, "older than the answer"),
    ],
)
def test_a_form_without_a_good_date_is_refused(
    cast: Cast, as_coach: Client, other: dict[str, str], said: str
):
    response = as_coach.post(page_of(cast), form(cast, **other))

    assert response.status_code == 422
    assert said in response.content.decode()
    assert not Consent.objects.filter(way="paper").exists()


def test_only_those_who_may_answer_can_be_chosen(cast: Cast, as_coach: Client):
    Guardianship.objects.filter(guardian=cast.co_guardian).update(barred_from=date(2026, 1, 1))
    page = as_coach.get(page_of(cast)).content.decode()
    assert cast.guardian.name in page
    for outsider in (cast.co_guardian, cast.former_guardian, cast.mate_guardian):
        assert f'value="{outsider.code}"' not in page
        response = as_coach.post(page_of(cast), form(cast, guardian=str(outsider.code)))
        assert response.status_code == 422
    assert not Consent.objects.filter(way="paper").exists()


def test_the_squad_s_list_shows_the_strictest(cast: Cast, as_coach: Client):
    consenting.answer(cast.swimmer, Purpose.FILM, is_given=False, by=cast.co_guardian, at=NOW)
    Consent.objects.filter(swimmer=cast.mate, purpose=Purpose.VOICE).delete()
    response = as_coach.get(f"/squads/{cast.squad.code}/consent/")

    assert words(response) == {
        cast.swimmer: ["no", "yes", "yes", "yes"],
        cast.mate: ["yes", "yes", "yes", ""],
    }
    page = response.content.decode()
    assert page.index("Not answered yet") < page.index("clips may keep their sound")
    assert page.count(">not answered") == 1


def words(response) -> dict[Swimmer, list[str]]:
    return {row.swimmer: [each.word for each in row.answers] for row in response.context["rows"]}


def test_an_assistant_s_list_says_no_where_nobody_answered(cast: Cast):
    Consent.objects.filter(swimmer=cast.mate).delete()
    page = signed_in(cast.assistant).get(f"/squads/{cast.squad.code}/consent/").content.decode()

    assert page.count('<td class="no">no</td>') == 4
    assert page.count('<td class="yes">yes</td>') == 4
    assert "Not answered yet" not in page


@pytest.mark.parametrize("page", ["/swimmers/{cast.swimmer.code}", "/squads/{cast.squad.code}"])
def test_a_new_edition_leaves_answers_and_marks_them(cast: Cast, as_coach: Client, page: str):
    Club.objects.update(policy_edition="spring 2027")
    shown = as_coach.get(f"{page.format(cast=cast)}/consent/").content.decode()

    assert "stands at edition spring 2027" in shown
    assert shown.count('<td class="yes">yes <span class="note soft">earlier edition') in (5, 8)
    assert consenting.allowed(Purpose.SHOW, of=[cast.swimmer], on=DAY)


def test_whoever_has_not_accepted_stands_under_the_club_s_name_for_them(
    cast: Cast, as_coach: Client
):
    """An address that the club typed may belong to somebody whose name it does not know."""
    ties = Guardianship.objects.filter(guardian=cast.co_guardian)
    ties.update(is_accepted=False, called="Father of Ines")
    told = form(cast, way="told", signed_on="", guardian=str(cast.co_guardian.code))

    as_coach.post(page_of(cast), told)

    page = as_coach.get(page_of(cast)).content.decode()
    assert "Father of Ines: no" in page
    assert f'<option value="{cast.co_guardian.code}">Father of Ines</option>' in page
    assert cast.co_guardian.name not in page


def test_a_larger_squad_costs_no_more_questions(cast: Cast, as_coach: Client):
    page = f"/squads/{cast.squad.code}/consent/"
    with CaptureQueriesContext(connection) as few:
        as_coach.get(page)
    for number in range(8):
        child = make_swimmer(cast.club, cast.squad, f"Kid{number} Moor", born=cast.mate.born)
        consent_to_all(child, make_user(f"Parent {number}"))
    with CaptureQueriesContext(connection) as many:
        as_coach.get(page)

    assert len(many) == len(few) <= 12


def test_the_policy_is_the_head_coach_s_and_read_by_all(cast: Cast):
    client = signed_in(cast.head_coach)
    address = f"/policy/{cast.club.code}/"
    given = {
        "policy": "Two adults at the pool.\n\nNo film in changing rooms.",
        "policy_edition": "autumn 2026",
        "policy_reviewed_on": "2026-11-01",
    }
    stale = client.post(f"{address}change/", given)
    assert stale.headers["Location"].startswith("/sign-in/again/")
    session = client.session
    session[recent.KEY] = timezone.now().timestamp()
    session.save()

    assert client.post(f"{address}change/", {**given, "policy": ""}).status_code == 200
    client.post(f"{address}change/", given)

    same = client.post(f"{address}change/", {**given, "policy": "One adult is enough."})
    assert "Name a new edition." in same.content.decode()
    shown = client.post(f"{address}change/", {**given, "policy": given["policy"] + "\n"})
    assert shown.status_code == 302

    for person in (cast.guardian, cast.swimmer_user, cast.assistant, cast.second_adult):
        page = signed_in(person).get(address).content.decode()
        assert "<p>No film in changing rooms.</p>" in page
        assert "Edition autumn 2026, last gone through on 1 Nov 2026." in page
        assert "Change the policy" not in page
    entries = Entry.objects.filter(thing="club", actor_code=cast.head_coach.code)
    assert [entry.detail for entry in entries] == [{"what": "policy"}] * 2
    for outsider in (cast.stranger, cast.rival_coach, cast.former_guardian):
        assert signed_in(outsider).get(address).status_code == 404
