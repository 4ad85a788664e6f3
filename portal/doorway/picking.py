"""The demo club's people, to step in as anybody of them without a password.

Three locks, each enough: the setting, a browser on the portal's own machine, and a person who
has no tie to any club that is real.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from ipaddress import ip_address

from django.conf import settings
from django.db.models import Q, QuerySet
from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.people.models import Guardianship, Membership, Squad, Swimmer, User

# From a user to the clubs that know them.
CLUBS = [
    "memberships__club",
    "guardianships__swimmer__club",
    "swimmer__club",
    "openness_squads__club",
]

# In the order in which they stand on the page: what they are, and what to try as one.
PARTS: dict[str, tuple[str | Promise, str | Promise]] = {
    Membership.Role.COACH: (
        _("Coach"),
        _("Cut a session’s film into clips, comment on a clip frame by frame, publish a review."),
    ),
    Membership.Role.HEAD_COACH: (_("Head coach"), _("See the sessions of every squad.")),
    Membership.Role.ASSISTANT: (
        _("Assistant"),
        _("Sort film and draft comments; publishing is the coach’s."),
    ),
    "guardian": (_("Parent or guardian"), _("Read a child’s notes as they look on a phone.")),
    "swimmer": (_("Swimmer"), _("Read your own notes and play a moment again.")),
    "second adult": (_("Second adult"), _("Read whatever was published to the squad.")),
    Membership.Role.WELFARE: (
        _("Welfare officer"),
        _("See who is named when somebody reports a concern."),
    ),
    Membership.Role.SECOND_RECIPIENT: (
        _("Second recipient of concerns"),
        _("See the concerns that are about the welfare officer."),
    ),
    Membership.Role.VOLUNTEER: (_("Volunteer"), _("Look around: no footage is in sight.")),
}


@dataclass(frozen=True)
class Person:
    user: User
    ties: str
    """The squads or the children that go with the part."""


@dataclass(frozen=True)
class Part:
    name: str | Promise
    to_try: str | Promise
    people: list[Person]


def is_open(request: HttpRequest) -> bool:
    """A proxy on this machine speaks for browsers elsewhere, so what it passes on is refused."""
    if not settings.DEMO or "HTTP_X_FORWARDED_FOR" in request.META:
        return False
    try:
        return ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


def players() -> QuerySet[User]:
    """Who may be stepped in as."""
    real = User.objects.filter(_tied(is_demo=False))
    return (
        User.objects.filter(_tied(is_demo=True), is_active=True, is_superuser=False)
        .exclude(pk__in=real.values("pk"))
        .distinct()
    )


def demo_people(*, on: date) -> list[Part]:
    """Everybody once, under the first part that is theirs."""
    allowed = set(players().values_list("pk", flat=True))
    found: dict[str, dict[User, list[str]]] = {part: {} for part in PARTS}
    for part, user, tie in _roles(on):
        if user.pk in allowed:
            found[part].setdefault(user, []).append(tie)
    seen: set[User] = set()
    parts = []
    for part, (name, to_try) in PARTS.items():
        people = [
            Person(user, ", ".join(ties))
            for user, ties in sorted(found[part].items(), key=lambda pair: pair[0].name)
            if user not in seen
        ]
        seen.update(person.user for person in people)
        parts.append(Part(name, to_try, people))
    return [part for part in parts if part.people]


def _tied(*, is_demo: bool) -> Q:
    found = Q()
    for club in CLUBS:
        found |= Q(**{f"{club}__is_demo": is_demo})
    return found


def _roles(on: date) -> Iterator[tuple[str, User, str]]:
    for member in Membership.objects.on(on).select_related("user", "squad", "club"):
        yield member.role, member.user, str(member.squad or member.club)
    for guardian in Guardianship.objects.on(on).select_related("guardian", "swimmer"):
        yield "guardian", guardian.guardian, guardian.swimmer.first_name
    for swimmer in Swimmer.objects.filter(user__isnull=False).select_related("user", "club"):
        if swimmer.user:
            yield "swimmer", swimmer.user, swimmer.club.name
    for squad in Squad.objects.filter(second_adult__isnull=False).select_related("second_adult"):
        if squad.second_adult:
            yield "second adult", squad.second_adult, squad.name
