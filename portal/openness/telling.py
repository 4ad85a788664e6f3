"""Who is mailed of what. No mail says what a concern is about, or why somebody was shut out."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.conf import settings
from django.urls import reverse

from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.openness.models import Case
from portal.people import confiding
from portal.people.models import Club, EmergencyLook, Membership, Suspension, User


def concern_came_in(case: Case, *, to: Iterable[User], at: datetime) -> None:
    context = {"cases_address": _address("openness:cases")}
    _mail(to, case.club, f"concern:{case.code}", template="concern", context=context, at=at)


def suspended(suspension: Suspension, *, at: datetime) -> None:
    """The head coach plans without them, unless it is the head coach."""
    club = suspension.club
    context = {"name": suspension.user.name, "concern_address": _address("concern")}
    to = [user for user in _head_coaches(club, at=at) if user != suspension.user]
    _mail(to, club, f"suspended:{suspension.code}", template="suspended", context=context, at=at)


def emergency_look(look: EmergencyLook, *, at: datetime) -> None:
    club = look.club
    officers = [tie.user for tie in confiding.officers_of([club], on=club.day(at))]
    to = {user.pk: user for user in [*_head_coaches(club, at=at), *officers] if user != look.user}
    context = {
        "look": look,
        "record_address": _address("openness:record"),
        "concern_address": _address("concern"),
    }
    key = f"emergency look:{look.code}"
    _mail(to.values(), club, key, template="emergency_look", context=context, at=at)


def _head_coaches(club: Club, *, at: datetime) -> list[User]:
    ties = Membership.objects.filter(club=club, role=Membership.Role.HEAD_COACH)
    return [tie.user for tie in ties.on(club.day(at)).select_related("user") if tie.user.is_active]


def _mail(
    to: Iterable[User],
    club: Club,
    key: str,
    *,
    template: str,
    context: dict[str, Any],
    at: datetime,
) -> None:
    for reader in to:
        mail = post(
            reader,
            club=club,
            kind=OutgoingMail.Kind.SAFEGUARDING,
            key=f"{key}:{reader.code}",
            template=template,
            context=context,
            at=at,
        )
        if mail:
            dispatch(mail, at=at)


def _address(name: str) -> str:
    return settings.PUBLIC_ADDRESS + reverse(name)
