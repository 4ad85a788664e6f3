"""When a club's mail comes is the club's choice, within the day."""

from __future__ import annotations

from datetime import time

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from portal.people.models import Club, Weekday
from tests.cast import Cast


def test_it_works(cast: Cast):
    assert (cast.club.digest_weekday, cast.club.digest_time) == (Weekday.SUNDAY, time(18))
    for clock in (time(8), time(20)):
        cast.club.digest_time = clock
        cast.club.full_clean()
        cast.club.save()


@pytest.mark.parametrize("clock", [time(7, 59), time(20, 1), time(0)])
def test_not_at_night(cast: Cast, clock: time):
    cast.club.digest_time = clock
    with pytest.raises(ValidationError):
        cast.club.full_clean()
    with pytest.raises(IntegrityError):
        Club.objects.filter(pk=cast.club.pk).update(digest_time=clock)


@pytest.mark.parametrize("weekday", [0, 8])
def test_not_on_a_day_that_does_not_exist(cast: Cast, weekday: int):
    cast.club.digest_weekday = weekday
    with pytest.raises(ValidationError):
        cast.club.full_clean()
    with pytest.raises(IntegrityError):
        Club.objects.filter(pk=cast.club.pk).update(digest_weekday=weekday)
