from __future__ import annotations

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.people.access import actor_for, must
from portal.people.models import Guardianship, Membership
from portal.recordings.models import Session
from tests.cast import DAY, LONG_AGO, Cast


def test_it_works(cast: Cast):
    coach = actor_for(cast.coach, on=DAY)
    guardian = actor_for(cast.guardian, on=DAY)

    assert coach.leads(cast.squad)
    assert coach.works_with(cast.squad)
    assert guardian.family_ids == {cast.swimmer.id}
    assert not guardian.is_staff


def test_one_query_an_actor_and_two_for_the_family(cast: Cast):
    with CaptureQueriesContext(connection) as queries:
        actor = actor_for(cast.coach, on=DAY)
        assert actor.leads(cast.squad)
    assert len(queries) == 1

    with CaptureQueriesContext(connection) as queries:
        assert not actor.is_family
        assert actor.family_ids == frozenset()
    assert len(queries) == 2


def test_a_squad_is_led_by_its_coach_and_the_head_coach(cast: Cast):
    leaders = {
        name
        for name in ("head_coach", "coach", "assistant", "other_coach", "rival_coach", "guardian")
        if actor_for(getattr(cast, name), on=DAY).leads(cast.squad)
    }

    assert leaders == {"head_coach", "coach"}


def test_an_assistant_works_with_a_squad_without_leading_it(cast: Cast):
    actor = actor_for(cast.assistant, on=DAY)

    assert actor.works_with(cast.squad)
    assert not actor.leads(cast.squad)


@pytest.mark.parametrize(
    ("name", "sees"),
    [
        ("head_coach", True),
        ("coach", True),
        ("assistant", True),
        ("other_coach", False),
        ("welfare", False),
        ("guardian", False),
        ("rival_coach", False),
        ("stranger", False),
    ],
)
def test_who_sees_a_session(cast: Cast, name: str, sees: bool):
    actor = actor_for(getattr(cast, name), on=DAY)

    assert Session.objects.visible_to(actor).exists() is sees


def test_ties_hold_from_their_first_day_until_the_day_they_end(cast: Cast):
    Membership.objects.filter(user=cast.coach).update(ends=DAY)

    assert actor_for(cast.coach, on=date(2026, 11, 18)).is_staff
    assert not actor_for(cast.coach, on=DAY).is_staff
    assert not actor_for(cast.coach, on=date(2019, 12, 31)).is_staff


def test_a_former_or_barred_guardian_has_no_tie(cast: Cast):
    assert not actor_for(cast.former_guardian, on=DAY).is_family

    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DAY)

    assert not actor_for(cast.guardian, on=DAY).is_family


def test_a_coach_who_is_a_parent_has_both_rights(cast: Cast):
    Guardianship.objects.create(guardian=cast.coach, swimmer=cast.mate, starts=LONG_AGO)

    actor = actor_for(cast.coach, on=DAY)

    assert actor.is_staff
    assert actor.family_ids == {cast.mate.id}


def test_must_refuses():
    must(True)
    with pytest.raises(PermissionDenied):
        must(False)
