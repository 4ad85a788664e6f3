from __future__ import annotations

from datetime import date, timedelta

from django.test import Client
from django.urls import reverse

from portal.items.models import Verdict
from portal.people import consenting
from portal.people.models import Consent
from portal.planning import filming
from portal.poolside.models import Turn
from portal.recordings.models import Session
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast, consent_to_all, make_swimmer
from tests.items.seen import session
from tests.planning.openings import has
from tests.review import words


def reviewed(cast: Cast, where: Session, *, swimmer=None) -> None:
    Review.objects.create(
        session=where, swimmer=swimmer or cast.swimmer, state=Review.State.PUBLISHED
    )


def address(cast: Cast) -> str:
    return reverse("planning:film_list", args=[cast.session.code])


def test_it_works(as_coach: Client, cast: Cast):
    known = words.learn()
    has(cast, cast.swimmer, known.feet, [Verdict.WORK_ON])
    cast.swimmer.items.update(last_look=DAY - timedelta(days=60))
    reviewed(cast, session(cast, days_ago=5))

    page = as_coach.get(address(cast)).content.decode()
    assert page.index("Noor Haan") < page.index("Ines Falk")
    assert "last review 14 Nov; not seen lately: Feet not brought up to the hips" in page
    assert "film from: side, under water" in page

    response = as_coach.post(address(cast), {"swimmer": [cast.swimmer.code]}, follow=True)
    assert "1 swimmer came on the list." in response.content.decode()
    turn = Turn.objects.get()
    assert (turn.swimmer, turn.view) == (cast.swimmer, "side-underwater")


def test_ticked_is_who_is_due(cast: Cast):
    reviewed(cast, session(cast, days_ago=5))
    reviewed(cast, session(cast, days_ago=43), swimmer=cast.mate)
    new = make_swimmer(cast.club, cast.squad, "Ada Bell", born=date(2013, 1, 1))
    consent_to_all(new, cast.guardian)
    wishes = filming.wishes(cast.session)
    assert [(wish.swimmer.first_name, wish.is_due) for wish in wishes] == [
        ("Ada", True),
        ("Noor", True),
        ("Ines", False),
    ]


def test_who_may_not_be_filmed_is_not_proposed(as_coach: Client, cast: Cast):
    consenting.answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.guardian, at=NOW)
    assert [wish.swimmer for wish in filming.wishes(cast.session)] == [cast.mate]
    as_coach.post(address(cast), {"swimmer": [cast.swimmer.code]})
    assert not Turn.objects.exists()


def test_who_is_on_the_list_stays_as_asked_for(as_coach: Client, cast: Cast):
    Turn.objects.create(session=cast.session, swimmer=cast.mate, place=1, view="overhead")
    assert filming.wishes(cast.session)[1].is_listed
    as_coach.post(address(cast), {"swimmer": [cast.mate.code, cast.swimmer.code]})
    assert Turn.objects.get(swimmer=cast.mate).view == "overhead"
    assert Turn.objects.count() == 2


def test_without_a_choice_nothing_changes(as_coach: Client, cast: Cast):
    as_coach.post(address(cast), {})
    assert not Turn.objects.exists()
