"""Who may see or change what. Out of sight is 404; seen but not allowed is 403.

An actor is read once for a request, in one query, and from then on every rule is a question
about sets of ids, asked the same way in SQL (`visible_to`) and for one object. Somebody who is
a coach and a parent has the rights of both.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet

from portal.people import tying
from portal.people.models import Membership, Squad, SquadPlace, User

Role = Membership.Role
Ids = frozenset[int]
NONE: Ids = frozenset()


@dataclass(frozen=True)
class Actor:
    """A signed-in person's ties at one moment, as ids of clubs, squads and swimmers."""

    user: User
    code: UUID
    today: date
    """In the clubs of this person. Of two across the date line it is the later day, on which
    more has ended."""
    heads: Ids = NONE
    """Clubs, as head coach."""
    protects: Ids = NONE
    """Clubs, as welfare officer."""
    stands_in: Ids = NONE
    """Clubs, as the second recipient of concerns."""
    runs: Ids = NONE
    """Clubs, as the volunteer who runs the portal: no footage."""
    looks: Ids = NONE
    """Those of them into which the volunteer looks, for a reason that is on record."""
    coaches: Ids = NONE
    """Squads."""
    assists: Ids = NONE
    seconds: Ids = NONE
    """Squads, as their second adult."""
    guards: Ids = NONE
    """Swimmers, as parent or guardian."""
    is_swimmer: Ids = NONE

    @property
    def is_staff(self) -> bool:
        """Works with film."""
        return bool(self.heads or self.coaches or self.assists)

    @property
    def has_role(self) -> bool:
        """Any part in a club beside those of its families."""
        return bool(self.is_staff or self.protects or self.stands_in or self.runs)

    @property
    def is_family(self) -> bool:
        return bool(self.guards or self.is_swimmer)

    @property
    def family_ids(self) -> Ids:
        """The swimmers whose notes this person reads as family."""
        return self.guards | self.is_swimmer

    @property
    def oversees(self) -> Ids:
        """The clubs of which this person reads whatever families can, and changes nothing."""
        return self.protects | self.looks

    def works_with(self, squad: Squad) -> bool:
        """Sort, cut and draft: head coach, coach or assistant of the squad."""
        return squad.id in self.assists or self.leads(squad)

    def leads(self, squad: Squad) -> bool:
        """Publish: head coach of the club or coach of the squad."""
        return squad.club_id in self.heads or squad.id in self.coaches

    def reads_along(self, squad: Squad) -> bool:
        """Not family, and yet reads what went out to the squad's families."""
        return squad.id in self.seconds or squad.club_id in self.oversees

    def staff_filter(self, squad: str, *, swimmer: str = "") -> Q:
        """For rows whose squad stands at the path `squad`: this person works with it.

        With the path of a `swimmer`, not for those who have left the club: they are no longer
        their coaches' business, only the head coach's.
        """
        squads = Q(**{f"{squad}__in": self.coaches | self.assists})
        if swimmer:
            stays = Q(**{f"{swimmer}__left_on__gt": self.today})
            squads &= Q(**{f"{swimmer}__left_on": None}) | stays
        # Most coaches head no club, and the database need not be asked about none.
        return squads | Q(**{f"{squad}__club__in": self.heads}) if self.heads else squads

    def along_filter(self, squad: str) -> Q:
        """The same for `reads_along`."""
        squads = Q(**{f"{squad}__in": self.seconds})
        return squads | Q(**{f"{squad}__club__in": self.oversees}) if self.oversees else squads


def actor_for(user: User, *, at: datetime) -> Actor:
    """One query."""
    ties: dict[str, set[int]] = defaultdict(set)
    days = set()
    for tie in tying.ties_of(user, at=at):
        ties[tie.kind].add(tie.thing)
        days.add(tie.today)
    found = {kind: frozenset(things) for kind, things in ties.items()}
    return Actor(
        user=user,
        code=user.code,
        today=max(days, default=at.date()),
        heads=found.get(Role.HEAD_COACH, NONE),
        protects=found.get(Role.WELFARE, NONE),
        stands_in=found.get(Role.SECOND_RECIPIENT, NONE),
        runs=found.get(Role.VOLUNTEER, NONE),
        # Somebody who has stopped running the portal has no business in there.
        looks=found.get(tying.LOOKS, NONE) & found.get(Role.VOLUNTEER, NONE),
        coaches=found.get(Role.COACH, NONE),
        assists=found.get(Role.ASSISTANT, NONE),
        seconds=found.get(tying.SECOND, NONE),
        guards=found.get(tying.GUARDS, NONE),
        is_swimmer=found.get(tying.IS, NONE),
    )


def trained_by(actor: Actor) -> QuerySet[SquadPlace, int]:
    """Ids of the swimmers who today are in a squad with which this person works: a coach to whom
    a swimmer moves reads what was published before."""
    squads = actor.coaches | actor.assists
    places = SquadPlace.objects.on(actor.today).filter(squad__in=squads)
    return places.values_list("swimmer_id", flat=True)


def must(allowed: bool, reason: str = "") -> None:  # noqa: FBT001 - must(actor.leads(squad))
    """403 for somebody who sees the thing but may not do this to it."""
    if not allowed:
        raise PermissionDenied(reason)
