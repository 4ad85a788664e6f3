from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.people.consenting import NotTaken, Paper, Told, allowed, answer, end_answers, withheld
from portal.people.models import Consent, Guardianship
from tests.cast import DAY, LONG_AGO, NOW, Cast, assemble, make_swimmer
from tests.soak import count

SHOW = Consent.Purpose.SHOW
LATER = NOW + timedelta(days=1)


def test_it_works(cast: Cast):
    assert allowed(SHOW, of=[cast.swimmer, cast.mate], on=DAY) == {cast.swimmer.id, cast.mate.id}


def test_no_answer_is_no(cast: Cast):
    fresh = make_swimmer(cast.club, cast.squad, "Otis Farrow", born=cast.mate.born)

    assert allowed(SHOW, of=[fresh], on=DAY) == set()


def test_of_two_guardians_the_stricter_answer_holds(cast: Cast):
    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)

    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == set()


def test_a_later_yes_lifts_only_ones_own_no(cast: Cast):
    later = NOW + timedelta(days=1)
    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=later)
    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == set()

    answer(cast.swimmer, SHOW, is_given=True, by=cast.co_guardian, at=later)

    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == {cast.swimmer.id}


def test_purposes_stand_apart(cast: Cast):
    answer(cast.swimmer, Consent.Purpose.VOICE, is_given=False, by=cast.guardian, at=NOW)

    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == {cast.swimmer.id}


def test_an_answer_is_noted_without_its_content(cast: Cast):
    consent = answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=NOW)

    entry = Entry.objects.get(thing_code=consent.code)
    assert entry.actor_code == cast.guardian.code
    assert entry.detail == {"purpose": "show"}


def test_a_stranger_to_the_child_cannot_answer(cast: Cast):
    for person in (cast.mate_guardian, cast.former_guardian, cast.coach, cast.swimmer_user):
        with pytest.raises(NotTaken, match=person.name):
            answer(cast.swimmer, SHOW, is_given=True, by=person, at=NOW)


def test_a_barred_guardian_cannot_answer(cast: Cast):
    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DAY)

    with pytest.raises(NotTaken):
        answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=NOW)


def test_from_18_only_the_swimmers_own_answer_counts(cast: Cast):
    birthday = datetime(2030, 5, 3, 12, tzinfo=UTC)
    assert allowed(SHOW, of=[cast.swimmer], on=date(2030, 5, 2)) == {cast.swimmer.id}
    assert allowed(SHOW, of=[cast.swimmer], on=birthday.date()) == set()

    answer(cast.swimmer, SHOW, is_given=True, by=cast.swimmer_user, at=birthday)

    assert allowed(SHOW, of=[cast.swimmer], on=birthday.date()) == {cast.swimmer.id}
    with pytest.raises(NotTaken):
        answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=birthday)


def test_a_yes_ends_some_time_after_the_season_and_a_no_does_not(cast: Cast):
    yes = answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=NOW)
    no = answer(cast.mate, SHOW, is_given=False, by=cast.mate_guardian, at=NOW)
    season = cast.club.seasons.get()

    assert yes.until == season.ends + timedelta(days=30)
    assert no.until is None


def test_what_a_guardian_said_ends_with_the_tie(cast: Cast):
    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == set()

    end_answers(cast.swimmer, of=cast.co_guardian, on=DAY)
    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == {cast.swimmer.id}

    end_answers(cast.swimmer, of=cast.guardian, on=DAY + timedelta(days=1))
    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == {cast.swimmer.id}
    assert allowed(SHOW, of=[cast.swimmer], on=DAY + timedelta(days=1)) == set()


def test_a_signed_form_counts_like_an_answer_here(cast: Cast):
    form = Paper(signed_on=DAY, recorded_by=cast.head_coach)
    consent = answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=LATER, source=form)

    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == set()
    assert (consent.way, consent.signed_on, consent.recorded_by) == ("paper", DAY, cast.head_coach)
    assert Entry.objects.get(thing_code=consent.code).actor_code == cast.head_coach.code


def test_an_old_form_does_not_overrule_a_newer_answer(cast: Cast):
    answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=LATER)
    form = Paper(signed_on=DAY, recorded_by=cast.head_coach)

    with pytest.raises(NotTaken, match="older"):
        answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=LATER, source=form)
    future = Paper(signed_on=date(2027, 1, 1), recorded_by=cast.head_coach)
    with pytest.raises(NotTaken, match="2027"):
        answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=LATER, source=future)


def test_by_hearsay_only_a_no(cast: Cast):
    heard = Told(recorded_by=cast.coach)
    with pytest.raises(NotTaken, match="form"):
        answer(cast.swimmer, SHOW, is_given=True, by=cast.guardian, at=NOW, source=heard)

    answer(cast.swimmer, SHOW, is_given=False, by=cast.guardian, at=NOW, source=heard)

    assert allowed(SHOW, of=[cast.swimmer], on=DAY) == set()


def test_the_database_refuses_a_yes_by_hearsay(cast: Cast):
    with pytest.raises(IntegrityError), transaction.atomic():
        Consent.objects.create(
            swimmer=cast.swimmer,
            purpose=SHOW,
            is_given=True,
            answered_by=cast.co_guardian,
            at=NOW,
            way=Consent.Way.TOLD,
            recorded_by=cast.coach,
        )


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
        for child, guardian in product(swimmers, people):
            Guardianship.objects.get_or_create(
                swimmer=child, guardian=guardian, defaults={"starts": LONG_AGO}
            )
        Consent.objects.all().delete()
        for who, person, is_given, day in sorted(said, key=lambda answer: answer[3]):
            moment = NOW + timedelta(days=day)
            answer(swimmers[who], SHOW, is_given=is_given, by=people[person], at=moment)

        expected = {s.id for n, s in enumerate(swimmers) if _may(n, said)}

        assert allowed(SHOW, of=swimmers, on=DAY) == expected
        hidden = set(withheld(SHOW, on=DAY).values_list("id", flat=True))
        assert hidden == {s.id for s in swimmers} - expected
        transaction.set_rollback(True)


def _may(swimmer: int, said: list[tuple[int, int, bool, int]]) -> bool:
    newest: dict[int, tuple[int, bool]] = {}
    for who, person, is_given, day in said:
        if who == swimmer and day >= newest.get(person, (0, True))[0]:
            newest[person] = (day, is_given)
    return bool(newest) and all(is_given for _, is_given in newest.values())
