"""What the pages of those who hear concerns show, each in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, Prefetch, Q, QuerySet

from portal.mailroom.composing import masked
from portal.mailroom.models import OutgoingMail
from portal.openness.models import Case, Line
from portal.people.access import Actor
from portal.people.models import Club, Suspension, Swimmer, User
from portal.recordings.listing import length
from portal.recordings.models import Recording, Rendition
from portal.replies.models import Reply

# Mails that open a door, and those about concerns and measures: nobody reads another's.
CONFIDED = (OutgoingMail.Kind.SAFEGUARDING,)
DOORS = (OutgoingMail.Kind.CODE, OutgoingMail.Kind.SECURITY)


@dataclass(frozen=True)
class Film:
    recording: Recording
    may_watch: bool

    @property
    def length(self) -> str:
        return length(self.recording)


def films(clubs: QuerySet[Club]) -> QuerySet[Recording]:
    """Newest first, with how many clips were cut."""
    kept = Recording.objects.kept().filter(session__squad__club__in=clubs)
    return (
        kept.select_related("session__squad__club", "session__pool", "filmed_by")
        .annotate(cuts=Count("clips", filter=Q(clips__removed_at=None)))
        .order_by("-session__date", "-uploaded_at", "-id")
    )


def watched(recordings: Iterable[Recording], *, by: Actor) -> list[Film]:
    """One query."""
    rows = list(recordings)
    open_ones = Recording.objects.watched_by(by).filter(pk__in=[row.pk for row in rows])
    may = set(open_ones.values_list("pk", flat=True))
    return [Film(row, row.pk in may) for row in rows]


@dataclass(frozen=True)
class Copy:
    rendition: Rendition
    swimmers: list[Swimmer]
    """Empty for the whole take."""


def copies(recording: Recording, *, by: Actor) -> list[Copy]:
    """Those that may be watched: the whole take first, then what was cut from it."""
    found = Rendition.objects.visible_to(by).filter(recording=recording).defer("packed_times")
    found = found.filter(clip__removed_at=None).select_related("clip")
    rows = found.prefetch_related("clip__swimmers").order_by("clip__first_frame", "pk")
    ordered = sorted(rows, key=lambda copy: copy.clip_id is not None)
    return [Copy(one, list(one.clip.swimmers.all()) if one.clip else []) for one in ordered]


@dataclass(frozen=True)
class Person:
    user: User
    roles: list[str]
    suspension: Suspension | None


def people(found: QuerySet[User], *, clubs: QuerySet[Club], by: Actor) -> list[Person]:
    """With what they are in the club today. Three queries beside that of the people."""
    standing = Suspension.objects.filter(club__in=clubs, lifted_at=None)
    rows = found.prefetch_related(
        Prefetch("suspensions", queryset=standing, to_attr="standing"), "memberships", "swimmer"
    )
    today = by.today
    ids = set(clubs.values_list("pk", flat=True))
    return [
        Person(
            user,
            sorted(
                {
                    str(tie.get_role_display())
                    for tie in user.memberships.all()
                    if tie.club_id in ids
                    and tie.starts <= today
                    and (tie.ends is None or tie.ends > today)
                }
            ),
            next(iter(user.standing), None),
        )
        for user in rows
    ]


@dataclass(frozen=True)
class Letter:
    mail: OutgoingMail
    to: str
    """The address, masked."""
    text: str
    """Empty for what opens a door."""


def letters(clubs: QuerySet[Club], *, reader: Actor) -> QuerySet[OutgoingMail]:
    """What the club's portal wrote to anybody, newest first. Of what was written about concerns
    and measures somebody reads only their own: one about the officer goes past the officer."""
    found = OutgoingMail.objects.filter(club__in=clubs).exclude(kind__in=DOORS)
    own = ~Q(kind__in=CONFIDED) | Q(recipient=reader.user)
    return found.filter(own).select_related("recipient", "club").order_by("-created_at", "-id")


def letter(mail: OutgoingMail) -> Letter:
    return Letter(mail, masked(mail.address), mail.text)


def said(clubs: QuerySet[Club]) -> QuerySet[Reply]:
    """What families and coaches said to each other below notes, newest first."""
    found = Reply.objects.filter(session__squad__club__in=clubs)
    rows = found.select_related("by", "seen_by", "swimmer", "session__squad__club")
    return rows.order_by("-at", "-id")


@dataclass(frozen=True)
class Step:
    line: Line
    name: str
    """Of the film or the person."""
    film: UUID | None


def steps(case: Case) -> list[Step]:
    """A case's lines in order, with what they were done to. Three queries."""
    lines = list(case.lines.select_related("by"))
    codes = [line.thing_code for line in lines if line.thing_code]
    held = dict(Recording.objects.filter(code__in=codes).values_list("code", "name"))
    shut = dict(Suspension.objects.filter(code__in=codes).values_list("code", "user__name"))
    names = held | shut
    return [
        Step(
            line,
            names.get(line.thing_code, "") if line.thing_code else "",
            line.thing_code if line.thing_code in held else None,
        )
        for line in lines
    ]
