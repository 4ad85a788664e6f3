"""Who may see or change what. Out of sight is 404; seen but not allowed is 403.

An actor is read once for a request, and from then on every rule is a question about sets of
ids, asked the same way in SQL (`visible_to`) and for one object. Roles are read at once, in one
query; who somebody's children are when first asked for, since most pages of the staff never ask.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import Q

from portal.people.models import Guardianship, Membership, Squad, Swimmer, User

Role = Membership.Role


@dataclass(frozen=True)
class Actor:
    """A signed-in person's ties on one day, as ids of clubs, squads and swimmers."""

    user: User
    code: UUID
    on: date
    heads: frozenset[int] = frozenset()
    protects: frozenset[int] = frozenset()
    coaches: frozenset[int] = frozenset()
    assists: frozenset[int] = frozenset()

    @cached_property
    def guards(self) -> frozenset[int]:
        rows = Guardianship.objects.filter(guardian=self.user).on(self.on)
        return frozenset(rows.values_list("swimmer_id", flat=True))

    @cached_property
    def is_swimmer(self) -> frozenset[int]:
        own = Swimmer.objects.filter(user=self.user).order_by()
        return frozenset(own.values_list("id", flat=True))

    @property
    def is_staff(self) -> bool:
        return bool(self.heads or self.coaches or self.assists)

    @property
    def is_family(self) -> bool:
        return bool(self.guards or self.is_swimmer)

    @property
    def family_ids(self) -> frozenset[int]:
        """The swimmers whose notes this person reads as family."""
        return self.guards | self.is_swimmer

    def works_with(self, squad: Squad) -> bool:
        """Sort, cut and draft: head coach, coach or assistant of the squad."""
        return squad.id in self.assists or self.leads(squad)

    def leads(self, squad: Squad) -> bool:
        """Publish: head coach of the club or coach of the squad."""
        return squad.club_id in self.heads or squad.id in self.coaches

    def staff_filter(self, squad: str) -> Q:
        """For rows whose squad stands at the path `squad`: this person works with it."""
        squads = Q(**{f"{squad}__in": self.coaches | self.assists})
        # Most coaches head no club, and the database need not be asked about none.
        return squads | Q(**{f"{squad}__club__in": self.heads}) if self.heads else squads


def actor_for(user: User, *, on: date) -> Actor:
    """One query."""
    roles: dict[str, set[int]] = {role: set() for role in Role.values}
    for role, club, squad in (
        Membership.objects.filter(user=user).on(on).values_list("role", "club_id", "squad_id")
    ):
        roles[role].add(squad or club)
    return Actor(
        user=user,
        code=user.code,
        on=on,
        heads=frozenset(roles[Role.HEAD_COACH]),
        protects=frozenset(roles[Role.WELFARE]),
        coaches=frozenset(roles[Role.COACH]),
        assists=frozenset(roles[Role.ASSISTANT]),
    )


def must(allowed: bool, reason: str = "") -> None:  # noqa: FBT001 - must(actor.leads(squad))
    """403 for somebody who sees the thing but may not do this to it."""
    if not allowed:
        raise PermissionDenied(reason)
