from __future__ import annotations

from datetime import timedelta

import pytest

from portal.people.access import actor_for
from portal.people.models import SquadPlace, Swimmer
from portal.roster import access, moving
from tests.cast import DAY, NOW, Cast

A_WEEK = timedelta(days=7)


def squads(swimmer: Swimmer, on=DAY) -> set[str]:
    return set(
        SquadPlace.objects.on(on).filter(swimmer=swimmer).values_list("squad__name", flat=True)
    )


def test_it_works(cast: Cast):
    moving.move(cast.mate, to=cast.other_squad, on=DAY + A_WEEK, by=cast.head_coach, at=NOW)

    assert squads(cast.mate) == {"Juniors"}
    assert squads(cast.mate, DAY + A_WEEK) == {"Seniors"}


def test_a_later_move_takes_the_place_of_a_planned_one(cast: Cast):
    moving.move(cast.mate, to=cast.other_squad, on=DAY + A_WEEK, by=cast.head_coach, at=NOW)
    moving.move(cast.mate, to=cast.other_squad, on=DAY, by=cast.head_coach, at=NOW)

    assert squads(cast.mate) == squads(cast.mate, DAY + A_WEEK) == {"Seniors"}


def test_a_second_squad(cast: Cast):
    moving.move(cast.mate, to=cast.other_squad, on=DAY, keeps=True, by=cast.head_coach, at=NOW)

    assert squads(cast.mate) == {"Juniors", "Seniors"}


def test_leaving_and_coming_back(cast: Cast):
    actor = actor_for(cast.coach, at=NOW)

    moving.leave(cast.mate, on=DAY, by=cast.head_coach, at=NOW)

    assert Swimmer.objects.get(pk=cast.mate.pk).left_on == DAY
    assert squads(cast.mate) == set()
    assert not Swimmer.objects.filter(access._seen(actor, on=DAY), pk=cast.mate.pk).exists()

    moving.move(cast.mate, to=cast.squad, on=DAY, by=cast.head_coach, at=NOW)

    assert Swimmer.objects.get(pk=cast.mate.pk).left_on is None
    assert squads(cast.mate) == {"Juniors"}


def test_nobody_moves_to_where_they_are_or_to_another_club(cast: Cast):
    theirs = cast.rival_coach.memberships.get().club.squads.create(name="Theirs")
    for squad in (cast.squad, theirs):
        with pytest.raises(moving.NotMoved):
            moving.move(cast.mate, to=squad, on=DAY, by=cast.head_coach, at=NOW)
    assert squads(cast.mate) == {"Juniors"}


def test_a_day_far_away_is_hardly_meant(cast: Cast):
    with pytest.raises(moving.NotMoved):
        moving.leave(cast.mate, on=DAY.replace(year=2036), by=cast.head_coach, at=NOW)
    cast.mate.refresh_from_db()
    assert cast.mate.left_on is None
