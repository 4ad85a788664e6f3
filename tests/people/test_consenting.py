from __future__ import annotations

from datetime import timedelta

from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.people.consenting import allowed, answer, withheld
from portal.people.models import Consent
from tests.cast import NOW, Cast, assemble, make_swimmer
from tests.soak import count

SHOW = Consent.Purpose.SHOW


def test_it_works(cast: Cast):
    assert allowed(SHOW, of=[cast.swimmer, cast.mate]) == {cast.swimmer.id, cast.mate.id}


def test_no_answer_is_no(cast: Cast):
    fresh = make_swimmer(cast.club, cast.squad, "Otis Farrow", born=cast.mate.born)

    assert allowed(SHOW, of=[fresh]) == set()


def test_of_two_guardians_the_stricter_answer_holds(cast: Cast):
    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)

    assert allowed(SHOW, of=[cast.swimmer]) == set()


def test_a_later_yes_lifts_only_ones_own_no(cast: Cast):
    later = NOW + timedelta(days=1)
    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=later)
    assert allowed(SHOW, of=[cast.swimmer]) == set()

    answer(cast.swimmer, SHOW, is_given=True, by=cast.co_guardian, at=later)

    assert allowed(SHOW, of=[cast.swimmer]) == {cast.swimmer.id}


def test_purposes_stand_apart(cast: Cast):
    answer(cast.swimmer, Consent.Purpose.VOICE, is_given=False, by=cast.guardian, at=NOW)

    assert allowed(SHOW, of=[cast.swimmer]) == {cast.swimmer.id}


def test_an_answer_is_noted_without_its_content(cast: Cast):
    consent = answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=NOW)

    entry = Entry.objects.get(thing_code=consent.code)
    assert entry.actor_code == cast.guardian.code
    assert entry.detail == {"purpose": "show"}


ANSWERS = st.lists(
    st.tuples(st.integers(0, 1), st.integers(0, 2), st.booleans(), st.integers(0, 2)), max_size=8
)


@settings(
    max_examples=count(25, 1000),
    deadline=None,
    # Each example takes its rows back itself.
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(ANSWERS)
def test_the_strictest_of_the_newest_against_a_plain_oracle(
    db: None, said: list[tuple[int, int, bool, int]]
):
    """Each answer: which swimmer, which person, what, and on which day; several may be given
    at one moment, of which the last written counts."""
    with transaction.atomic():
        cast = assemble()
        swimmers = [cast.swimmer, cast.mate]
        people = [cast.guardian, cast.co_guardian, cast.mate_guardian]
        Consent.objects.all().delete()
        for who, person, is_given, day in said:
            moment = NOW + timedelta(days=day)
            answer(swimmers[who], SHOW, is_given=is_given, by=people[person], at=moment)

        expected = {s.id for n, s in enumerate(swimmers) if _may(n, said)}

        assert allowed(SHOW, of=swimmers) == expected
        hidden = set(withheld(SHOW).values_list("id", flat=True))
        assert hidden == {s.id for s in swimmers} - expected
        transaction.set_rollback(True)


def _may(swimmer: int, said: list[tuple[int, int, bool, int]]) -> bool:
    newest: dict[int, tuple[int, bool]] = {}
    for who, person, is_given, day in said:
        if who == swimmer and day >= newest.get(person, (0, True))[0]:
            newest[person] = (day, is_given)
    return bool(newest) and all(is_given for _, is_given in newest.values())
