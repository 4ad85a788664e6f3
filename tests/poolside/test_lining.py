from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.people import consenting
from portal.people.models import Consent, Swimmer
from portal.poolside import gathering, lining
from portal.poolside.lining import Way
from portal.poolside.models import Turn
from portal.recordings import listing
from tests.cast import NOW, Cast, consent_to_all, make_swimmer


@pytest.fixture
def squad(cast: Cast) -> list[Swimmer]:
    """Four in the order of their names."""
    for name in ("Ada Zander", "Bo Zander"):
        swimmer = make_swimmer(cast.club, cast.squad, name, born=cast.swimmer.born)
        consent_to_all(swimmer, cast.guardian)
    return list(listing.may_be_filmed(cast.session))


def names(turns: list[Turn]) -> list[str]:
    return [turn.swimmer.first_name for turn in turns]


def turn_of(cast: Cast, swimmer: Swimmer) -> Turn:
    return Turn.objects.select_related("session", "swimmer").get(
        session=cast.session, swimmer=swimmer
    )


def test_it_works(cast: Cast, squad: list[Swimmer]):
    assert lining.put(cast.session, squad) == 4
    lining.tick(turn_of(cast, squad[2]), at=NOW)
    lining.tick(turn_of(cast, squad[0]), at=NOW + timedelta(minutes=1))

    found = gathering.film_list(cast.session)
    assert [turn.swimmer for turn in found.filmed] == [squad[2], squad[0]]
    assert [turn.swimmer for turn in found.waiting] == [squad[1], squad[3]]
    assert not found.is_over


def test_the_sorting_table_numbers_swimmers_in_the_films_order(cast: Cast, squad: list[Swimmer]):
    lining.put(cast.session, squad)
    lining.tick(turn_of(cast, squad[3]), at=NOW)
    lining.scratch(turn_of(cast, squad[0]), at=NOW)
    cast.session.refresh_from_db()

    order = listing.roster(cast.session).may_be_filmed
    assert order == [squad[3], squad[1], squad[2], squad[0]]


def test_nobody_comes_on_it_twice(cast: Cast, squad: list[Swimmer]):
    lining.put(cast.session, squad[:2])
    lining.scratch(turn_of(cast, squad[0]), at=NOW)
    assert lining.put(cast.session, squad) == 2
    assert Turn.objects.count() == 4
    assert turn_of(cast, squad[0]).scratched_at


def test_ticking_twice_is_ticking_once(cast: Cast, squad: list[Swimmer]):
    lining.put(cast.session, squad)
    for minutes in (0, 5):
        lining.tick(turn_of(cast, squad[1]), at=NOW + timedelta(minutes=minutes))
    assert turn_of(cast, squad[1]).filmed_at == NOW


def test_taking_a_tick_back_puts_the_swimmer_where_they_stood(cast: Cast, squad: list[Swimmer]):
    lining.put(cast.session, squad)
    lining.tick(turn_of(cast, squad[1]), at=NOW)
    lining.wait(turn_of(cast, squad[1]))
    assert [turn.swimmer for turn in gathering.film_list(cast.session).waiting] == squad


@pytest.mark.parametrize(
    ("way", "order"),
    [
        (Way.UP, [1, 0, 2, 3]),
        (Way.DOWN, [0, 2, 1, 3]),
        (Way.FIRST, [1, 0, 2, 3]),
        (Way.LAST, [0, 2, 3, 1]),
    ],
)
def test_moving(cast: Cast, squad: list[Swimmer], way: Way, order: list[int]):
    lining.put(cast.session, squad)
    lining.move(turn_of(cast, squad[1]), way)
    waiting = [turn.swimmer for turn in gathering.film_list(cast.session).waiting]
    assert waiting == [squad[place] for place in order]


def test_who_was_filmed_does_not_move(cast: Cast, squad: list[Swimmer]):
    lining.put(cast.session, squad)
    lining.tick(turn_of(cast, squad[1]), at=NOW)
    lining.move(turn_of(cast, squad[1]), Way.FIRST)
    waiting = [turn.swimmer for turn in gathering.film_list(cast.session).waiting]
    assert waiting == [squad[0], squad[2], squad[3]]


def refuse(cast: Cast) -> None:
    consenting.answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.guardian, at=NOW)


def test_nobody_without_consent_comes_on_it(cast: Cast):
    refuse(cast)
    with pytest.raises(lining.Refused, match="Ask the family first"):
        lining.put(cast.session, [cast.mate, cast.swimmer])
    assert not Turn.objects.exists()


def test_nobody_of_another_squad_comes_on_it(cast: Cast):
    other = make_swimmer(cast.club, cast.other_squad, "Cy Zander", born=cast.swimmer.born)
    consent_to_all(other, cast.guardian)
    with pytest.raises(lining.Refused):
        lining.put(cast.session, [other])


def test_a_consent_taken_back_is_in_plain_sight_and_stops_the_tick(cast: Cast):
    lining.put(cast.session, [cast.mate, cast.swimmer])
    refuse(cast)

    found = gathering.film_list(cast.session)
    assert [turn.swimmer for turn in found.shut] == [cast.swimmer]
    assert cast.swimmer in found.unasked
    with pytest.raises(lining.Refused, match="any more"):
        lining.tick(turn_of(cast, cast.swimmer), at=NOW)


deeds = st.lists(
    st.tuples(
        st.sampled_from(["tick", "scratch", "wait", *Way]), st.integers(min_value=0, max_value=3)
    ),
    max_size=12,
)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(deeds=deeds)
def test_whatever_is_done_nobody_is_lost_and_the_sessions_order_agrees(
    cast: Cast, squad: list[Swimmer], deeds: list[tuple[str, int]]
):
    Turn.objects.all().delete()
    lining.put(cast.session, squad)
    for minute, (deed, number) in enumerate(deeds):
        turn = turn_of(cast, squad[number])
        at = NOW + timedelta(minutes=minute)
        if deed == "tick":
            lining.tick(turn, at=at)
        elif deed == "scratch":
            lining.scratch(turn, at=at)
        elif deed == "wait":
            lining.wait(turn)
        else:
            lining.move(turn, Way(deed))
    found = gathering.film_list(cast.session)
    cast.session.refresh_from_db()
    assert {turn.swimmer for turn in [*found.waiting, *found.filmed, *found.scratched]} == set(
        squad
    )
    standing = [turn.swimmer_id for turn in [*found.filmed, *found.waiting]]
    assert cast.session.film_order == standing
