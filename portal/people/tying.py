"""All that ties one person to any club, on that club's own day, in one query.

It is asked at every request. In SQL it costs a fiftieth of a bare page; built from the models,
the same questions cost half of one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from zoneinfo import ZoneInfo

from django.db import connection

from portal.people.ages import GROWN_UP, OWN_SIGN_IN, age
from portal.people.models import Consent, User

# Kinds of ties beside the roles of Membership.
GUARDS, IS, SECOND, LOOKS, SUSPENDED = "guards", "is", "second adult", "looks", "suspended"

# Databases differ in how they hand over days, so all come as letters.
Day = str | None


@dataclass(frozen=True)
class Tie:
    kind: str
    club: int
    thing: int
    """The squad, the swimmer or the club."""
    today: date
    """In the club."""


def ties_of(user: User, *, at: datetime) -> Iterator[Tie]:
    """One query. No tie to a club from which the person is suspended."""
    with connection.cursor() as cursor:
        cursor.execute(SQL, {"user": user.pk, "sign_in": Consent.Purpose.SIGN_IN.value})
        rows = cursor.fetchall()
    shut_out = {club for kind, club, *_ in rows if kind == SUSPENDED}
    for kind, club, thing, zone, *days in rows:
        now = at.astimezone(_zone(zone))
        if club not in shut_out and _holds(kind, now, *days):
            yield Tie(kind, club, thing, now.date())


def _holds(
    kind: str, now: datetime, starts: Day, ends: Day, born: Day, barred: Day, granted: Day
) -> bool:
    today = now.date()
    if kind == LOOKS:
        return _moment(starts) <= now < _moment(ends)
    if kind == IS:
        return _may_sign_in(today, agreed=starts, refused=ends, born=born)
    if not _within(today, starts, ends):
        return False
    if kind == GUARDS:
        is_child = age(date.fromisoformat(str(born)), on=today) < GROWN_UP
        return not _begun(today, barred) and (is_child or _begun(today, granted))
    return True


def _may_sign_in(today: date, *, agreed: Day, refused: Day, born: Day) -> bool:
    """Grown-ups are asked nothing; from 13 on a guardian has agreed and none refuses."""
    years = age(date.fromisoformat(str(born)), on=today)
    lasts = bool(agreed) and not _begun(today, agreed)
    stands_against = bool(refused) and not _begun(today, refused)
    return years >= GROWN_UP or (years >= OWN_SIGN_IN and lasts and not stands_against)


def _within(today: date, starts: Day, ends: Day) -> bool:
    return (starts is None or _begun(today, starts)) and not _begun(today, ends)


def _begun(today: date, first: Day) -> bool:
    """Days as ISO writes them stand in the order of time."""
    return first is not None and first <= today.isoformat()


def _moment(value: Day) -> datetime:
    moment = datetime.fromisoformat(str(value))
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


@cache
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


# kind, club, thing, zone; then starts, ends, born, barred from, granted on, as far as it has them
SQL = """
    SELECT ties.role, clubs.id, COALESCE(ties.squad_id, clubs.id), clubs.zone,
        CAST(ties.starts AS text), CAST(ties.ends AS text),
        CAST(NULL AS text), CAST(NULL AS text), CAST(NULL AS text)
    FROM people_membership ties JOIN people_club clubs ON clubs.id = ties.club_id
    WHERE ties.user_id = %(user)s
    UNION ALL
    SELECT 'guards', clubs.id, swimmers.id, clubs.zone,
        CAST(ties.starts AS text), CAST(ties.ends AS text),
        CAST(swimmers.born AS text), CAST(ties.barred_from AS text), CAST(ties.granted_on AS text)
    FROM people_guardianship ties JOIN people_swimmer swimmers ON swimmers.id = ties.swimmer_id
    JOIN people_club clubs ON clubs.id = swimmers.club_id
    WHERE ties.guardian_id = %(user)s AND ties.is_accepted
    UNION ALL
    SELECT 'is', clubs.id, swimmers.id, clubs.zone,
        (SELECT MAX(COALESCE(CAST(yes.until AS text), '9999-12-31')) FROM people_consent yes
            WHERE yes.swimmer_id = swimmers.id AND yes.purpose = %(sign_in)s
            AND yes.is_newest AND yes.is_given),
        (SELECT MAX(COALESCE(CAST(no.until AS text), '9999-12-31')) FROM people_consent no
            WHERE no.swimmer_id = swimmers.id AND no.purpose = %(sign_in)s
            AND no.is_newest AND NOT no.is_given),
        CAST(swimmers.born AS text), NULL, NULL
    FROM people_swimmer swimmers JOIN people_club clubs ON clubs.id = swimmers.club_id
    WHERE swimmers.user_id = %(user)s
    UNION ALL
    SELECT 'second adult', clubs.id, squads.id, clubs.zone, NULL, NULL, NULL, NULL, NULL
    FROM people_squad squads JOIN people_club clubs ON clubs.id = squads.club_id
    WHERE squads.second_adult_id = %(user)s
    UNION ALL
    SELECT 'looks', clubs.id, clubs.id, clubs.zone,
        CAST(ties.at AS text), CAST(ties.until AS text), NULL, NULL, NULL
    FROM people_emergencylook ties JOIN people_club clubs ON clubs.id = ties.club_id
    WHERE ties.user_id = %(user)s
    UNION ALL
    SELECT 'suspended', clubs.id, clubs.id, clubs.zone, NULL, NULL, NULL, NULL, NULL
    FROM people_suspension ties JOIN people_club clubs ON clubs.id = ties.club_id
    WHERE ties.user_id = %(user)s AND ties.lifted_at IS NULL
"""
