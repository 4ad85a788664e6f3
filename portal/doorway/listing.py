"""Where somebody is signed in, and how a session ends that is not this one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session

from portal.doorway import staying
from portal.doorway.naming import browser_of
from portal.people.models import User


@dataclass(frozen=True)
class OpenSession:
    number: int
    browser: str
    since: datetime
    seen: datetime
    """To within a twenty-fourth of the idle limit."""
    is_this: bool


def open_sessions(user: User, *, this: str | None, at: datetime) -> list[OpenSession]:
    """The one seen last goes first. Two queries."""
    found = [
        OpenSession(
            number=own.pk,
            browser=browser_of(own.user_agent),
            since=own.created_at,
            seen=_seen(kept, own),
            is_this=own.session_key == this,
        )
        for own, kept in _kept(user)
        if kept is not None and _is_open(kept, at=at)
    ]
    return sorted(found, key=lambda one: (one.is_this, one.seen), reverse=True)


def follow(user: User, *, was: str | None, now: str | None) -> None:
    """This session goes on under another key, as it does once its password has changed."""
    UserSession.objects.filter(user=user, session_key=was).update(session_key=now)


def end_others(user: User, *, this: str | None) -> int:
    others = UserSession.objects.filter(user=user).exclude(session_key=this)
    Session.objects.filter(session_key__in=others.values("session_key")).delete()
    return others.delete()[0]


def sweep(user: User, *, at: datetime) -> None:
    """What is over is kept no longer: it names a browser and a place."""
    over = [own for own, kept in _kept(user) if kept is None or not _is_open(kept, at=at)]
    Session.objects.filter(session_key__in=[own.session_key for own in over]).delete()
    UserSession.objects.filter(pk__in=[own.pk for own in over]).delete()


def sweep_all(*, at: datetime) -> None:
    """Of those too who do not sign in again, and what strangers left at the door. Three queries
    for each person who has a session."""
    Session.objects.filter(expire_date__lt=at).delete()
    for user in User.objects.filter(pk__in=UserSession.objects.values("user")):
        sweep(user, at=at)


def _kept(user: User) -> Iterator[tuple[UserSession, dict[str, Any] | None]]:
    """None where the session itself is gone."""
    owned = list(UserSession.objects.filter(user=user))
    rows = Session.objects.filter(session_key__in=[own.session_key for own in owned])
    kept = {row.session_key: row.get_decoded() for row in rows}
    for own in owned:
        yield own, kept.get(own.session_key)


def _is_open(kept: dict[str, Any], *, at: datetime) -> bool:
    stay = kept.get(staying.KEY)
    return not stay or not staying.is_over(stay, at=at)


def _seen(kept: dict[str, Any], own: UserSession) -> datetime:
    stay = kept.get(staying.KEY)
    return datetime.fromtimestamp(stay["seen"], tz=UTC) if stay else own.last_seen_at
