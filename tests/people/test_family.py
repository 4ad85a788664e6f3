"""What a family sees and answers about a child; one household learns nothing of another."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from portal.audit.models import Entry
from portal.people import consenting, suspending
from portal.people.models import Club, Consent, Guardianship, Swimmer
from tests.cast import DAY, NOW, Cast, make_swimmer, signed_in

Purpose = Consent.Purpose
YES = dict.fromkeys(["film", "show", "mail-stills", "voice", "sign-in"], "yes") | {"edition": ""}


def questions(cast: Cast) -> str:
    return f"/children/{cast.swimmer.code}/questions/"


def child(cast: Cast) -> str:
    return f"/children/{cast.swimmer.code}/"


def grown_up(cast: Cast) -> None:
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=date(2000, 5, 3))


def test_it_works(cast: Cast):
    client = signed_in(cast.co_guardian)
    page = client.get(questions(cast)).content.decode()
    assert page.count('type="radio"') == 10
    assert "checked" not in page

    response = client.post(questions(cast), {**YES, "mail-stills": "no"})

    assert response.headers["Location"] == child(cast)
    said = Consent.objects.filter(answered_by=cast.co_guardian)
    assert {row.purpose: row.is_given for row in said} == {
        "film": True,
        "show": True,
        "mail stills": False,
        "voice": True,
        "sign in": True,
    }
    page = client.get(child(cast), follow=True).content.decode()
    assert "Your answers are kept." in page


def test_a_missing_answer_is_named_and_the_others_are_kept(cast: Cast):
    Consent.objects.all().delete()
    given = {**YES, "voice": "no"}
    del given["mail-stills"]

    response = signed_in(cast.guardian).post(questions(cast), given)

    page = response.content.decode()
    assert response.status_code == 422
    assert '<a href="#mail-stills">Question 3: A picture in the mail</a>' in page
    assert "Your other answers are kept." in page
    assert page.count("checked") == 4
    assert not Consent.objects.exists()


def test_only_what_changes_something_is_written_anew(cast: Cast):
    Consent.objects.all().delete()
    client = signed_in(cast.guardian)
    client.post(questions(cast), YES)
    client.post(questions(cast), {**YES, "show": "no"})

    newest = Consent.objects.filter(answered_by=cast.guardian, is_newest=True)
    assert Consent.objects.filter(answered_by=cast.guardian).count() == 6
    assert not newest.get(purpose=Purpose.SHOW).is_given
    assert cast.swimmer.pk not in consenting.allowed(Purpose.SHOW, of=[cast.swimmer], on=DAY)


def test_the_same_yes_holds_longer_in_another_season(cast: Cast):
    soon = timezone.now().date() + timedelta(days=3)
    Consent.objects.filter(answered_by=cast.guardian).update(until=soon)

    signed_in(cast.guardian).post(questions(cast), YES)

    newest = Consent.objects.filter(answered_by=cast.guardian, is_newest=True)
    last_day = cast.club.seasons.get().ends + timedelta(days=30)
    assert set(newest.values_list("until", flat=True)) == {last_day}


def test_answers_are_kept_together_or_not_at_all(cast: Cast):
    Consent.objects.all().delete()
    said = {Purpose.FILM: True, Purpose.SHOW: True}

    with pytest.raises(consenting.NotTaken):
        consenting.answer_all(cast.swimmer, said, by=cast.mate_guardian, at=NOW)

    assert not Consent.objects.exists()


def test_a_child_under_13_is_not_asked_about_a_sign_in(cast: Cast):
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(
        born=timezone.now().date().replace(year=timezone.now().year - 12, day=1)
    )
    page = signed_in(cast.guardian).get(questions(cast)).content.decode()

    assert page.count('type="radio"') == 8
    assert "sign-in?" not in page


def test_the_answer_names_the_edition_that_stood_on_the_page(cast: Cast):
    Club.objects.update(policy="Two adults.", policy_edition="autumn 2026", policy_reviewed_on=DAY)
    client = signed_in(cast.co_guardian)
    page = client.get(questions(cast)).content.decode()
    assert "<p>Two adults.</p>" in page
    assert "Edition autumn 2026, last gone through on 19 Nov 2026" in page
    client.post(questions(cast), {**YES, "edition": "autumn 2026"})
    editions = Consent.objects.filter(answered_by=cast.co_guardian).values_list("edition")
    assert set(editions) == {("autumn 2026",)}

    Club.objects.update(policy_edition="spring 2027")

    page = client.get(questions(cast)).content.decode()
    assert page.count("That was to the policy’s edition autumn 2026; it holds.") == 5
    assert page.count("checked") == 5
    stale = client.post(questions(cast), {**YES, "edition": "autumn 2026"})
    assert stale.status_code == 422
    assert "Read it once more." in stale.content.decode()
    assert 'name="edition" value="spring 2027"' in stale.content.decode()
    client.post(questions(cast), {**YES, "edition": "spring 2027"})
    newest = Consent.objects.filter(answered_by=cast.co_guardian, is_newest=True)
    assert set(newest.values_list("edition")) == {("spring 2027",)}


def test_one_household_sees_nothing_of_the_other(cast: Cast):
    """Neither the answer, nor the name, nor that there is another."""
    before = signed_in(cast.guardian).get(child(cast)).content.decode()
    consenting.answer(cast.swimmer, Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    consenting.answer(cast.swimmer, Purpose.FILM, is_given=False, by=cast.co_guardian, at=NOW)
    after = signed_in(cast.guardian).get(child(cast)).content.decode()

    assert unmasked(before) == unmasked(after)
    assert cast.co_guardian.name not in after
    assert cast.guardian.name not in signed_in(cast.co_guardian).get(child(cast)).content.decode()
    Guardianship.objects.filter(guardian=cast.co_guardian).delete()
    assert unmasked(signed_in(cast.guardian).get(child(cast)).content.decode()) == unmasked(after)


def unmasked(page: str) -> str:
    return re.sub(r'value="\w{64}"', "", page)


def test_a_young_swimmer_reads_what_holds_and_answers_nothing(cast: Cast):
    consenting.answer(cast.swimmer, Purpose.FILM, is_given=False, by=cast.co_guardian, at=NOW)
    client = signed_in(cast.swimmer_user)
    page = client.get(child(cast)).content.decode()

    assert "The camera leaves you out at the moment." in page
    assert "Your clips may be shown here." in page
    assert cast.guardian.name not in page
    assert cast.co_guardian.name not in page
    assert client.post(questions(cast), YES).status_code == 403


def test_it_says_who_sees_film(cast: Cast):
    page = signed_in(cast.guardian).get(child(cast)).content.decode()

    for person in (cast.coach, cast.assistant, cast.head_coach, cast.welfare, cast.second_adult):
        assert person.name in page
    assert cast.other_coach.name not in page
    suspending.suspend(cast.coach, club=cast.club, by=cast.welfare, at=NOW)
    assert cast.coach.name not in signed_in(cast.guardian).get(child(cast)).content.decode()


def test_a_barred_guardian_finds_nothing(cast: Cast):
    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=date(2026, 1, 1))
    client = signed_in(cast.guardian)

    assert client.get(child(cast)).status_code == 404
    assert client.post(questions(cast), YES).status_code == 404


def test_from_18_the_swimmer_answers_and_says_who_goes_on_reading(cast: Cast):
    grown_up(cast)
    tie = cast.swimmer.guardianships.get(guardian=cast.guardian)
    own = signed_in(cast.swimmer_user)
    assert signed_in(cast.guardian).get(child(cast)).status_code == 404
    assert "does not read" in own.get(child(cast)).content.decode()

    for _twice in range(2):
        own.post(f"{child(cast)}reading/{tie.code}/", {"reads": "yes"})
    assert "No longer let Ada Falk read" in own.get(child(cast)).content.decode()
    assert signed_in(cast.guardian).get(child(cast)).status_code == 200
    assert signed_in(cast.guardian).get(questions(cast)).status_code == 403
    own.post(questions(cast), YES)
    assert consenting.allowed(Purpose.SHOW, of=[fresh(cast)], on=DAY) == {cast.swimmer.pk}

    own.post(f"{child(cast)}reading/{tie.code}/", {"reads": "no"})
    assert signed_in(cast.guardian).get(child(cast)).status_code == 404
    entries = Entry.objects.filter(thing="guardianship").order_by("pk")
    said = ["goes on reading", "goes on reading", "reads no longer"]
    assert [entry.detail["what"] for entry in entries] == said


def fresh(cast: Cast) -> Swimmer:
    return Swimmer.objects.get(pk=cast.swimmer.pk)


def test_nobody_lets_a_barred_or_foreign_guardian_in(cast: Cast):
    grown_up(cast)
    own = signed_in(cast.swimmer_user)
    barred = cast.swimmer.guardianships.get(guardian=cast.guardian)
    Guardianship.objects.filter(pk=barred.pk).update(barred_from=date(2026, 1, 1))
    foreign = cast.mate.guardianships.get()

    for tie in (barred, foreign):
        assert own.post(f"{child(cast)}reading/{tie.code}/", {"reads": "yes"}).status_code == 404
        tie.refresh_from_db()
        assert tie.granted_on is None


@pytest.mark.parametrize("page", ["", "questions/"])
def test_more_people_cost_no_more_questions(cast: Cast, page: str):
    client = signed_in(cast.guardian)
    with CaptureQueriesContext(connection) as few:
        client.get(child(cast) + page)
    for number in range(5):
        sibling = make_swimmer(cast.club, cast.squad, f"Kid{number} Falk", born=cast.mate.born)
        Guardianship.objects.create(guardian=cast.guardian, swimmer=sibling, starts=DAY)
    with CaptureQueriesContext(connection) as many:
        client.get(child(cast) + page)

    assert len(many) == len(few) <= 16
