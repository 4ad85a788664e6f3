from __future__ import annotations

from datetime import timedelta

import pytest

from portal.people import consenting
from portal.people.access import actor_for
from portal.people.models import Consent, Guardianship
from portal.people.reading import readers_of
from portal.roster import guarding
from tests.cast import DAY, NOW, Cast

FILM = Consent.Purpose.FILM
TOMORROW = DAY + timedelta(days=1)


def linked(cast: Cast) -> Guardianship:
    return guarding.link(cast.mate, cast.stranger, called="Sid", on=DAY, by=cast.head_coach, at=NOW)


def test_it_works(cast: Cast):
    """Until it is accepted it gives no sight and no mail; a form may be signed all the same."""
    tie = linked(cast)

    assert not actor_for(cast.stranger, at=NOW).is_family
    assert cast.stranger not in readers_of(cast.mate, on=DAY).guardians
    assert cast.stranger in consenting.who_answers(cast.mate, on=DAY)
    assert tie.name == "Sid"

    Guardianship.objects.filter(pk=tie.pk).update(is_accepted=True)

    assert actor_for(cast.stranger, at=NOW).guards == {cast.mate.id}
    assert cast.stranger in readers_of(cast.mate, on=DAY).guardians


def test_nobody_twice_nor_the_swimmer_themselves(cast: Cast):
    for who in (cast.mate_guardian, cast.mate_user):
        with pytest.raises(guarding.NotTied):
            guarding.link(cast.mate, who, called="x", on=DAY, by=cast.head_coach, at=NOW)


def test_a_grown_up_gets_none(cast: Cast):
    with pytest.raises(guarding.NotTied):
        day = cast.mate.born.replace(year=2030)
        guarding.link(cast.mate, cast.stranger, called="x", on=day, by=cast.head_coach, at=NOW)


def test_an_ended_tie_takes_its_answers_along(cast: Cast):
    tie = cast.mate.guardianships.get()

    guarding.end(tie, on=TOMORROW, by=cast.head_coach, at=NOW)

    assert actor_for(cast.mate_guardian, at=NOW).is_family
    assert not actor_for(cast.mate_guardian, at=NOW + timedelta(days=1)).is_family
    assert consenting.allowed(FILM, of=[cast.mate], on=DAY) == {cast.mate.id}
    assert consenting.allowed(FILM, of=[cast.mate], on=TOMORROW) == set()


def test_a_bar_shuts_and_keeps_a_no(cast: Cast):
    consenting.answer(cast.mate, FILM, is_given=False, by=cast.mate_guardian, at=NOW)
    tie = cast.mate.guardianships.get()

    guarding.bar(tie, on=DAY, by=cast.head_coach, at=NOW)

    assert not actor_for(cast.mate_guardian, at=NOW).is_family
    assert readers_of(cast.mate, on=DAY).everybody == []
    assert consenting.allowed(FILM, of=[cast.mate], on=DAY) == set()

    guarding.lift_bar(tie, by=cast.head_coach, at=NOW)

    assert actor_for(cast.mate_guardian, at=NOW).is_family


def test_only_what_nobody_answered_is_forgotten(cast: Cast):
    guarding.forget(linked(cast), by=cast.head_coach, at=NOW)

    assert not cast.stranger.guardianships.exists()
    with pytest.raises(guarding.NotTied):
        guarding.forget(cast.mate.guardianships.get(), by=cast.head_coach, at=NOW)
