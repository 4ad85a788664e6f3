from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.meets.models import Disqualification, Entry, Meet
from portal.technique.models import Rule
from tests.cast import DAY, NOW, Cast, make_swimmer, signed_in
from tests.planning.openings import NOT_LEGAL, has
from tests.review import words


@pytest.fixture
def meet(cast: Cast) -> Meet:
    return Meet.objects.create(
        club=cast.club, name="Autumn Cup", starts=DAY, made_by=cast.coach, made_at=NOW
    )


def address(meet: Meet, name: str = "meet") -> str:
    return reverse(f"meets:{name}", args=[meet.code])


def paste(client: Client, meet: Meet, text: str):
    return client.post(address(meet), {"pasted": text}, follow=True)


def test_it_works(as_coach: Client, cast: Cast):
    known = words.learn()
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    typed = {"club": cast.club.pk, "name": "Autumn Cup", "starts": "2026-12-12"}
    as_coach.post(reverse("meets:meets"), typed)
    meet = Meet.objects.get()

    page = paste(as_coach, meet, "Falk, Ines\t100 breast\t200 IM\nnoor haan; 50 free")
    text = page.content.decode()

    assert "3 entries are new." in text
    assert text.count("Two dolphin kicks") == 2
    assert "Of the 2 swimmers entered," in text
    assert "1 has an open item that a rule speaks of." in text
    assert [entry.event_word for entry in Entry.objects.all()] == [
        "100 breaststroke",
        "50 freestyle",
        "200 medley",
    ]


def test_what_nobody_has_looked_at_is_said(as_coach: Client, cast: Cast, meet: Meet):
    words.learn()
    text = paste(as_coach, meet, "Ines Falk; 100 breast").content.decode()
    assert "Nothing open that a rule speaks of." in text
    assert "Film from one more view to be sure" in text
    assert "never looked at" in text


def test_lines_that_cannot_be_taken_stay_in_the_field(as_coach: Client, cast: Cast, meet: Meet):
    make_swimmer(cast.club, cast.squad, "Noor Haan", born=date(2013, 1, 1))
    text = "Ines Falk; 100 breast\nNobody Known; 50 fly\nNoor Haan; 50 fly\nInes Falk; 90 fly"
    response = paste(as_coach, meet, text)
    page = response.content.decode()

    assert response.status_code == 422
    assert Entry.objects.count() == 1
    assert "3 lines could not be taken" in page
    assert "Nobody of your squads is called “Nobody Known”" in page
    assert "More than one swimmer is called “Noor Haan”" in page
    assert "“90 fly” is no event" in page
    kept = page.split("<textarea")[1].split("</textarea>")[0]
    assert "Nobody Known; 50 fly\nNoor Haan; 50 fly\nInes Falk; 90 fly" in kept


def test_a_list_pasted_twice_is_there_once(as_coach: Client, meet: Meet):
    for _ in range(2):
        page = paste(as_coach, meet, "Ines Falk; 100 breast")
    assert "0 entries are new." in page.content.decode()
    assert Entry.objects.count() == 1


def test_a_meet_cannot_end_before_it_starts(as_coach: Client, cast: Cast):
    typed = {"club": cast.club.pk, "name": "Cup", "starts": "2026-12-12", "ends": "2026-12-11"}
    response = as_coach.post(reverse("meets:meets"), typed)
    assert response.status_code == 422
    assert "The last day is not before the first one." in response.content.decode()


def test_one_entry_by_the_form(as_coach: Client, cast: Cast, meet: Meet):
    typed = {"swimmer": cast.swimmer.pk, "distance": "50", "stroke": "im", "is_relay": "on"}
    page = as_coach.post(address(meet, "enter"), typed, follow=True).content.decode()
    assert "4 x 50 medley relay" in page
    assert as_coach.post(address(meet, "enter"), {**typed, "distance": "75"}).status_code == 422


def test_a_coach_of_another_squad_sees_and_enters_none_of_ours(cast: Cast, meet: Meet):
    Entry.objects.create(meet=meet, swimmer=cast.swimmer, distance=50, stroke="fly")
    other = signed_in(cast.other_coach)
    assert "Ines Falk" not in other.get(address(meet)).content.decode()
    assert "is called “Ines Falk”" in paste(other, meet, "Ines Falk; 50 free").content.decode()
    typed = {"swimmer": cast.swimmer.pk, "distance": "50", "stroke": "free"}
    assert other.post(address(meet, "enter"), typed).status_code == 422
    assert Entry.objects.count() == 1


def test_a_slip_is_matched_to_the_list(as_coach: Client, cast: Cast, meet: Meet):
    known = words.learn()
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    paste(as_coach, meet, "Ines Falk; 100 breast\nNoor Haan; 100 breast")
    rule = Rule.objects.get()
    for entry in Entry.objects.all():
        slip = reverse("meets:slip", args=[entry.code])
        assert "another rule, or not known" in as_coach.get(slip).content.decode()
        as_coach.post(slip, {"rule": rule.pk, "words": "second kick"})
    page = as_coach.get(address(meet)).content.decode()
    assert page.count("It was on this list.") == 1
    assert page.count("It was not on this list: film it and look.") == 1


def test_an_empty_slip_says_what_to_do(as_coach: Client, cast: Cast, meet: Meet):
    entry = Entry.objects.create(meet=meet, swimmer=cast.swimmer, distance=50, stroke="fly")
    response = as_coach.post(reverse("meets:slip", args=[entry.code]), {})
    assert response.status_code == 422
    assert "Choose the rule, or copy what the slip says." in response.content.decode()
    assert not Disqualification.objects.exists()


def test_a_race_with_a_slip_is_not_taken_out(as_coach: Client, cast: Cast, meet: Meet):
    entry = Entry.objects.create(meet=meet, swimmer=cast.swimmer, distance=50, stroke="fly")
    out = reverse("meets:withdraw", args=[entry.code])
    as_coach.post(reverse("meets:slip", args=[entry.code]), {"words": "one hand"})
    assert "the entry stays" in as_coach.post(out, follow=True).content.decode()
    Disqualification.objects.all().delete()
    as_coach.post(out)
    assert not Entry.objects.exists()


def test_forty_entries_take_no_more_queries_than_two(as_coach: Client, cast: Cast, meet: Meet):
    known = words.learn()

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            as_coach.get(address(meet))
        return len(queries)

    paste(as_coach, meet, "Ines Falk; 100 breast; 200 im\nNoor Haan; 50 free")
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    few = count()
    for number in range(40):
        born = DAY - timedelta(days=4000)
        swimmer = make_swimmer(cast.club, cast.squad, f"Kid{number:02d} Brook", born=born)
        has(cast, swimmer, known.dolphins, NOT_LEGAL)
        Entry.objects.create(meet=meet, swimmer=swimmer, distance=100, stroke="breast")
    assert count() == few
    assert few < 20
