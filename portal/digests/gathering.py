"""What is new for whom: of each guardian's children, what no weekly mail has told them yet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from portal.digests.models import Delivered
from portal.digests.timing import Hour, Week
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, Guardianship, Swimmer, User
from portal.review.models import Review

# Before its due instant: what a family heard of in no mail for that long is no news.
LOOK_BACK = timedelta(days=28)


@dataclass(frozen=True)
class Edition:
    """The mail of one club about one week."""

    club: Club
    week: Week
    opening: str = field(default="", compare=False)
    """What the head coach says before the notes."""

    @property
    def hour(self) -> Hour:
        club = self.club
        return Hour(club.digest_weekday, club.digest_time, ZoneInfo(club.zone))

    @property
    def due_at(self) -> datetime:
        """What is published from then on goes into the next one."""
        return self.hour.due_at(self.week)

    @property
    def days(self) -> tuple[date, date]:
        return self.hour.days(self.week)

    def key(self, recipient: User) -> str:
        """One mail for a person, a club and a week. Not one for a person and a week: somebody
        with children in two clubs would never hear from the second."""
        return f"weekly:{self.week}:{self.club.code.hex}:{recipient.code.hex}"


@dataclass(frozen=True)
class News:
    recipient: User
    children: list[Swimmer]
    """All of them that swim in the club, by name, those without news too."""
    reviews: list[Review]
    """Oldest session first."""


def gather(edition: Edition, *, at: datetime) -> list[News]:
    """For everybody who is a guardian at that moment, is not barred, and has no mail of this
    edition yet, as far as they want it. Five queries.

    Nobody's consent is asked: it is about film and pictures, and there are none in the mail.
    """
    families = _families(edition, at=at)
    keys = [edition.key(guardian) for guardian in families]
    written = set(OutgoingMail.objects.filter(key__in=keys).values_list("key", flat=True))
    reviews = defaultdict(list)
    for review in _reviews(edition):
        reviews[review.swimmer_id].append(review)
    told = set(
        Delivered.objects.for_good()
        .filter(recipient__in=families)
        .values_list("recipient_id", "review_id", "publishing")
    )
    found = []
    for guardian, children in families.items():
        new = [
            review
            for child in children
            for review in reviews[child.pk]
            if (guardian.pk, review.pk, review.publishings) not in told
        ]
        if new and edition.key(guardian) not in written:
            found.append(News(guardian, children, new))
    return found


def without_news(edition: Edition, found: Collection[News], *, at: datetime) -> list[User]:
    """Guardians who get no mail of this edition, since nothing is new to them or they have had
    it or want none. By name. One query."""
    told = {news.recipient.pk for news in found}
    rest = {tie.guardian for tie in _ties(edition, at=at) if tie.guardian_id not in told}
    return sorted(rest, key=lambda guardian: (guardian.name, guardian.pk))


def _families(edition: Edition, *, at: datetime) -> dict[User, list[Swimmer]]:
    families: dict[User, list[Swimmer]] = {}
    for tie in _ties(edition, at=at):
        children = families.setdefault(tie.guardian, [])
        if tie.swimmer not in children:
            children.append(tie.swimmer)
    return _wanting(families)


def _ties(edition: Edition, *, at: datetime) -> QuerySet[Guardianship]:
    return (
        Guardianship.objects.on(at.astimezone(edition.hour.zone).date())
        .filter(swimmer__club=edition.club, guardian__is_active=True)
        .select_related("guardian", "swimmer")
        .order_by("guardian", "swimmer__first_name", "swimmer__last_name", "swimmer")
    )


def _wanting(families: dict[User, list[Swimmer]]) -> dict[User, list[Swimmer]]:
    gone = stopping.stopped(families, OutgoingMail.Kind.WEEKLY)
    wanted = {
        guardian: [child for child in children if (guardian.pk, child.pk) not in gone]
        for guardian, children in families.items()
        if (guardian.pk, None) not in gone
    }
    return {guardian: children for guardian, children in wanted.items() if children}


def _reviews(edition: Edition) -> QuerySet[Review]:
    due = edition.due_at
    return (
        Review.objects.published()
        .filter(swimmer__club=edition.club)
        .filter(published_at__gte=due - LOOK_BACK, published_at__lt=due)
        .select_related("session__pool", "published_by")
        .order_by("session__date", "session_id")
    )
