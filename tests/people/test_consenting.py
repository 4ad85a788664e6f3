from __future__ import annotations

from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.people.consenting import _strictest, allowed, answer
from portal.people.models import Consent
from tests.cast import NOW, Cast, make_swimmer

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


ROWS = st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3), st.booleans()), max_size=12)


@given(ROWS)
def test_strictest_against_a_plain_oracle(rows: list[tuple[int, int, bool]]):
    def may(swimmer: int) -> bool:
        people = {person for who, person, _ in rows if who == swimmer}
        last = [[yes for w, p, yes in rows if (w, p) == (swimmer, q)][-1] for q in people]
        return bool(last) and all(last)

    assert _strictest(rows) == {swimmer for swimmer in (1, 2, 3) if may(swimmer)}
