from __future__ import annotations

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from portal.people.models import Membership, Swimmer, User
from tests.cast import DAY, LONG_AGO, Cast


@pytest.mark.parametrize(
    ("day", "age"),
    [
        (date(2026, 2, 28), 13),
        (date(2026, 3, 1), 14),
        (date(2028, 2, 28), 15),
        (date(2028, 2, 29), 16),
    ],
)
def test_a_leap_day_birthday_counts_from_the_first_of_march(day: date, age: int):
    assert Swimmer(born=date(2012, 2, 29)).age(on=day) == age


def test_an_address_is_kept_in_small_letters(db):
    user = User.objects.create_user(" Ada@Example.ORG ", name="Ada Falk")

    assert user.email == "ada@example.org"
    assert User.objects.get_by_natural_key("ADA@example.org") == user


def test_a_coach_without_squad_is_refused(cast: Cast):
    with pytest.raises(IntegrityError), transaction.atomic():
        Membership.objects.create(
            user=cast.stranger, club=cast.club, role=Membership.Role.COACH, starts=DAY
        )


def test_a_head_coach_with_squad_is_refused(cast: Cast):
    with pytest.raises(IntegrityError), transaction.atomic():
        Membership.objects.create(
            user=cast.stranger,
            club=cast.club,
            squad=cast.squad,
            role=Membership.Role.HEAD_COACH,
            starts=LONG_AGO,
        )
