from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from portal.people import consenting
from portal.people.access import actor_for, must
from portal.people.models import (
    Club,
    Consent,
    EmergencyLook,
    Guardianship,
    Membership,
    Suspension,
    Swimmer,
)
from portal.recordings.models import Session
from portal.roster import access
from tests.cast import DAY, LONG_AGO, NOW, Cast, join

ONE_DAY = timedelta(days=1)
AN_HOUR = timedelta(minutes=60)


def test_it_works(cast: Cast):
    coach = actor_for(cast.coach, at=NOW)
    guardian = actor_for(cast.guardian, at=NOW)

    assert coach.leads(cast.squad)
    assert coach.works_with(cast.squad)
    assert guardian.family_ids == {cast.swimmer.id}
    assert not guardian.is_staff


def test_one_query_an_actor(cast: Cast):
    with CaptureQueriesContext(connection) as queries:
        actor = actor_for(cast.coach, at=NOW)
        assert actor.leads(cast.squad)
        assert not actor.is_family
    assert len(queries) == 1


def test_a_squad_is_led_by_its_coach_and_the_head_coach(cast: Cast):
    leaders = {
        name
        for name in ("head_coach", "coach", "assistant", "other_coach", "rival_coach", "guardian")
        if actor_for(getattr(cast, name), at=NOW).leads(cast.squad)
    }

    assert leaders == {"head_coach", "coach"}


def test_an_assistant_works_with_a_squad_without_leading_it(cast: Cast):
    actor = actor_for(cast.assistant, at=NOW)

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
    actor = actor_for(getattr(cast, name), at=NOW)

    assert Session.objects.visible_to(actor).exists() is sees


def test_ties_hold_from_their_first_day_until_the_day_they_end(cast: Cast):
    Membership.objects.filter(user=cast.coach).update(ends=DAY)

    assert actor_for(cast.coach, at=NOW - timedelta(days=1)).is_staff
    assert not actor_for(cast.coach, at=NOW).is_staff
    assert not actor_for(cast.coach, at=datetime(2019, 12, 31, tzinfo=UTC)).is_staff


def test_a_former_or_barred_guardian_has_no_tie(cast: Cast):
    assert not actor_for(cast.former_guardian, at=NOW).is_family

    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DAY)

    assert not actor_for(cast.guardian, at=NOW).is_family


def test_a_coach_who_is_a_parent_has_both_rights(cast: Cast):
    Guardianship.objects.create(guardian=cast.coach, swimmer=cast.mate, starts=LONG_AGO)

    actor = actor_for(cast.coach, at=NOW)

    assert actor.is_staff
    assert actor.family_ids == {cast.mate.id}


def test_days_begin_and_end_on_the_clubs_own_clock(cast: Cast):
    """At 18:30 UTC it is the next day in Auckland already, and not yet evening in Honolulu."""
    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DAY + ONE_DAY)
    Membership.objects.filter(user=cast.coach).update(ends=DAY)
    seen = {}
    for zone in ("Pacific/Auckland", "Europe/London", "Pacific/Honolulu"):
        Club.objects.filter(pk=cast.club.pk).update(zone=zone)
        early = NOW.replace(hour=5)
        seen[zone] = (
            actor_for(cast.guardian, at=NOW).is_family,
            actor_for(cast.coach, at=early).is_staff,
        )

    assert seen == {
        "Pacific/Auckland": (False, False),
        "Europe/London": (True, False),
        "Pacific/Honolulu": (True, True),
    }


def test_today_is_the_clubs_and_the_later_of_two(cast: Cast):
    assert actor_for(cast.stranger, at=NOW).today == DAY
    Club.objects.filter(pk=cast.club.pk).update(zone="Pacific/Auckland")
    assert actor_for(cast.coach, at=NOW).today == DAY + ONE_DAY
    join(cast.coach, Club.objects.get(name="Northmere"), Membership.Role.VOLUNTEER)
    assert actor_for(cast.coach, at=NOW).today == DAY + ONE_DAY


def test_who_joins_in_the_morning_far_east_of_greenwich_is_seen_at_once(cast: Cast):
    Club.objects.filter(pk=cast.club.pk).update(zone="Pacific/Auckland")
    cast.club.refresh_from_db()
    cast.mate.places.update(squad=cast.other_squad, starts=cast.club.day(NOW))
    reader = actor_for(cast.other_coach, at=NOW)
    assert access.swimmer_for(reader, cast.mate.code, on=reader.today) == cast.mate


def test_at_18_a_guardians_sight_ends_unless_it_is_granted(cast: Cast):
    birthday = NOW.replace(year=2030, month=5, day=3)
    day_before = birthday - ONE_DAY
    assert actor_for(cast.guardian, at=day_before).guards == {cast.swimmer.id}
    assert not actor_for(cast.guardian, at=birthday).is_family

    cast.swimmer.guardianships.filter(guardian=cast.guardian).update(granted_on=birthday.date())

    assert actor_for(cast.guardian, at=birthday).guards == {cast.swimmer.id}
    assert not actor_for(cast.co_guardian, at=birthday).is_family


def test_a_leap_day_child_is_18_on_the_first_of_march(cast: Cast):
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=date(2012, 2, 29))
    last_day = datetime(2030, 2, 28, 12, tzinfo=UTC)
    ties = cast.swimmer.guardianships.filter(guardian=cast.guardian)

    assert actor_for(cast.guardian, at=last_day).is_family
    assert ties.on(last_day.date()).exists()
    assert not actor_for(cast.guardian, at=last_day + ONE_DAY).is_family
    assert not ties.on(date(2030, 3, 1)).exists()


def test_a_swimmer_signs_in_from_13_once_a_guardian_agreed(cast: Cast):
    turns_13 = datetime(2025, 5, 3, 12, tzinfo=UTC)
    assert not actor_for(cast.swimmer_user, at=turns_13 - ONE_DAY).is_family
    assert actor_for(cast.swimmer_user, at=turns_13).is_swimmer == {cast.swimmer.id}

    consenting.answer(
        cast.swimmer, Consent.Purpose.SIGN_IN, is_given=False, by=cast.co_guardian, at=NOW
    )
    assert not actor_for(cast.swimmer_user, at=NOW).is_family

    Consent.objects.filter(purpose=Consent.Purpose.SIGN_IN).delete()
    assert not actor_for(cast.swimmer_user, at=NOW).is_family
    grown_up = datetime(2030, 5, 3, 12, tzinfo=UTC)
    assert actor_for(cast.swimmer_user, at=grown_up).is_family


def test_a_suspended_person_has_no_tie_to_that_club(cast: Cast):
    rivals = cast.rival_coach.memberships.get().club
    join(cast.coach, rivals, Membership.Role.HEAD_COACH)
    stood = Suspension.objects.create(user=cast.coach, club=cast.club, by=cast.welfare, at=NOW)
    Suspension.objects.create(user=cast.guardian, club=cast.club, by=cast.welfare, at=NOW)

    assert actor_for(cast.coach, at=NOW).coaches == frozenset()
    assert actor_for(cast.coach, at=NOW).heads == {rivals.id}
    assert not actor_for(cast.guardian, at=NOW).is_family
    assert cast.guardian.pk not in cast.swimmer.guardianships.on(DAY).values_list("guardian")

    Suspension.objects.filter(pk=stood.pk).update(lifted_at=NOW)
    assert actor_for(cast.coach, at=NOW).leads(cast.squad)


def test_an_emergency_look_lasts_an_hour_and_is_the_volunteers_alone(cast: Cast):
    volunteer = cast.volunteer
    for user in (volunteer, cast.stranger):
        EmergencyLook.objects.create(
            user=user, club=cast.club, reason="a film does not play", at=NOW, until=NOW + AN_HOUR
        )

    assert not actor_for(volunteer, at=NOW - timedelta(seconds=1)).oversees
    assert actor_for(volunteer, at=NOW).oversees == {cast.club.id}
    assert actor_for(volunteer, at=NOW).reads_along(cast.squad)
    assert not actor_for(volunteer, at=NOW + AN_HOUR).oversees
    assert not actor_for(cast.stranger, at=NOW).oversees


def test_a_longer_look_is_refused(cast: Cast):
    too_long = NOW + AN_HOUR + timedelta(seconds=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        EmergencyLook.objects.create(
            user=cast.stranger, club=cast.club, reason="curious", at=NOW, until=too_long
        )


def test_must_refuses():
    must(True)
    with pytest.raises(PermissionDenied):
        must(False)
