"""What has happened since counts at the next request: the same walk as in `test_access`, over what
of a swimmer can be read, after each event that tests/access_after.csv names."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from portal.people import consenting, suspending
from portal.people.models import Consent, Guardianship, Membership, Swimmer, User
from portal.review import publishing
from portal.review.models import Review
from portal.roster import guarding, moving
from tests.cast import Cast
from tests.test_access import address_of, codes, tried  # noqa: F401 - a fixture
from tests.world import Codes

TABLE = Path(__file__).with_name("access_after.csv")

NOW = timezone.now()


def move(cast: Cast) -> None:
    today = cast.club.day(NOW)
    moving.move(cast.swimmer, to=cast.other_squad, on=today, by=cast.head_coach, at=NOW)


def leave(cast: Cast) -> None:
    moving.leave(cast.swimmer, on=cast.club.day(NOW), by=cast.head_coach, at=NOW)


def turn_18(cast: Cast) -> None:
    today = cast.club.day(NOW)
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=today.replace(year=today.year - 18))


def turn_18_and_let_read_on(cast: Cast) -> None:
    turn_18(cast)
    Guardianship.objects.filter(guardian=cast.guardian).update(granted_on=cast.club.day(NOW))


def end_the_tie(cast: Cast) -> None:
    tie = Guardianship.objects.get(guardian=cast.guardian)
    guarding.end(tie, on=cast.club.day(NOW), by=cast.head_coach, at=NOW)


def bar(cast: Cast) -> None:
    tie = Guardianship.objects.get(guardian=cast.guardian)
    guarding.bar(tie, on=cast.club.day(NOW), by=cast.head_coach, at=NOW)


def end_the_staff(cast: Cast) -> None:
    roles = [Membership.Role.COACH, Membership.Role.ASSISTANT]
    Membership.objects.filter(role__in=roles).update(ends=cast.club.day(NOW))


def suspend(*names: str) -> Callable[[Cast], None]:
    def shut(cast: Cast) -> None:
        for user in User.objects.filter(pk__in=[cast.person(name).pk for name in names]):  # type: ignore[union-attr]
            suspending.suspend(user, club=cast.club, by=cast.welfare, at=NOW - timedelta(hours=1))

    return shut


def refuse_film(cast: Cast) -> None:
    purpose = Consent.Purpose.FILM
    consenting.answer(cast.swimmer, purpose, is_given=False, by=cast.guardian, at=NOW)


def take_back(cast: Cast) -> None:
    out = Review.objects.get(swimmer=cast.swimmer, published_at__isnull=False)
    publishing.take_back(out, by=cast.coach, at=NOW)


EVENTS: dict[str, Callable[[Cast], None]] = {
    "moved": move,
    "left": leave,
    "is 18": turn_18,
    "is 18 and lets a guardian read on": turn_18_and_let_read_on,
    "the guardian's tie ended": end_the_tie,
    "the guardian is barred": bar,
    "the staff's parts ended": end_the_staff,
    "coach and guardian are suspended": suspend("coach", "guardian"),
    "film refused": refuse_film,
    "taken back": take_back,
}


def rows() -> list[dict[str, str]]:
    lines = [line for line in TABLE.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def test_every_event_has_rows():
    assert {row["event"] for row in rows()} == set(EVENTS)


@pytest.mark.parametrize("event", EVENTS)
def test_it_answers_as_the_table_says(event: str, cast: Cast, codes: Codes):  # noqa: F811
    EVENTS[event](cast)

    for row in (row for row in rows() if row["event"] == event):
        people = list(row)[3:]
        address = address_of(row["url"], codes)
        answers = {person: tried(cast, person, row["method"], address) for person in people}
        assert answers == {person: row[person] for person in people}, (event, row["url"])
