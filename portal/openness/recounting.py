"""Reading the record: which rows somebody may read, and names in place of codes.

Names are looked up when the record is read, so that it says what a thing is called today and
nothing of what has been erased. What stands on a floor above (notes, sheets) is told by its kind
and, where the row has one, by its swimmer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from portal.audit.models import Entry
from portal.openness.models import Case
from portal.people.access import Actor
from portal.people.models import (
    Club,
    Consent,
    EmergencyLook,
    Guardianship,
    Membership,
    Squad,
    Suspension,
    Swimmer,
    User,
)
from portal.recordings.models import Clip, Recording, Rendition, Session

Names = dict[UUID, str]
# Hidden from the head coach, who may be what a concern is about.
CONFIDED = ("case", "suspension", "hold")
HEARING = (Membership.Role.WELFARE, Membership.Role.SECOND_RECIPIENT)

KINDS: dict[str, object] = {
    "rendition": _("film"),
    "clip": _("clip"),
    "recording": _("recording"),
    "review": _("notes"),
    "comment": _("comment"),
    "reply": _("words below notes"),
    "swimmer": _("swimmer"),
    "sheet": _("session sheet"),
    "consent": _("answer on film and pictures"),
    "guardianship": _("tie of a guardian"),
    "membership": _("role in the club"),
    "invitation": _("invitation"),
    "squad": _("squad"),
    "session": _("session"),
    "club": _("settings of the club"),
    "season": _("season"),
    "pool": _("pool"),
    "emergencylook": _("emergency look"),
    "hold": _("hold on a film"),
    "suspension": _("suspension"),
    "case": _("case"),
    "record": _("this record"),
}


@dataclass
class Record:
    """The record itself, as something that can be read: it bears its club's code."""

    code: UUID


@dataclass(frozen=True)
class Sought:
    """What somebody looks for; what is empty narrows nothing."""

    person: str = ""
    swimmer: str = ""
    kind: str = ""
    action: str = ""
    day: date | None = None
    of: UUID | None = None


@dataclass(frozen=True)
class Told:
    entry: Entry
    who: str
    kind: str
    name: str
    more: str


def kinds(*, is_whole: bool) -> list[tuple[str, str]]:
    return [(kind, str(word)) for kind, word in KINDS.items() if is_whole or kind not in CONFIDED]


def entries(clubs: Iterable[Club], *, reader: Actor, sought: Sought) -> QuerySet[Entry]:
    """Newest first. The officer reads all but cases that are not theirs to hear; the head coach
    nothing of cases, suspensions and holds, nor what those who hear concerns did or saw."""
    whole = [club.code for club in clubs if club.pk in reader.protects - reader.heads]
    in_part = [club.code for club in clubs if club.code not in whole]
    theirs = Case.objects.visible_to(reader).values("code")
    hearing = Membership.objects.filter(role__in=HEARING, club__code__in=in_part)
    as_officer = Q(club_code__in=whole) & (~Q(thing="case") | Q(thing_code__in=theirs))
    others = Q(actor_code=None) | ~Q(actor_code__in=hearing.values("user__code"))
    as_head = Q(club_code__in=in_part) & ~Q(thing__in=CONFIDED) & others
    found = Entry.objects.filter(as_officer | as_head)
    return _narrowed(found, sought, zone=next(iter(clubs)).zone).order_by("-at", "-id")


def _narrowed(found: QuerySet[Entry], sought: Sought, *, zone: str) -> QuerySet[Entry]:
    if sought.person:
        found = found.filter(actor_code=sought.person)
    if sought.kind:
        found = found.filter(thing=sought.kind)
    if sought.action:
        found = found.filter(action=sought.action)
    if sought.swimmer:
        found = found.filter(_about(sought.swimmer))
    if sought.of:
        found = found.filter(_of(sought.of))
    if sought.day:
        start = datetime.combine(sought.day, time(), ZoneInfo(zone))
        end = datetime.combine(sought.day + timedelta(days=1), time(), ZoneInfo(zone))
        found = found.filter(at__gte=start.astimezone(UTC), at__lt=end.astimezone(UTC))
    return found


def _about(swimmer: str) -> Q:
    """A swimmer's own row, whatever film shows them, and what names them in its detail."""
    clips = Clip.objects.filter(swimmers__code=swimmer)
    taken = Recording.objects.filter(clips__in=clips)
    copies = Rendition.objects.filter(Q(clip__in=clips) | Q(clip=None, recording__in=taken))
    return (
        Q(thing="swimmer", thing_code=swimmer)
        | Q(detail__swimmer=swimmer)
        | Q(thing="clip", thing_code__in=clips.values("code"))
        | Q(thing="rendition", thing_code__in=copies.values("code"))
        | Q(thing__in=("recording", "hold"), thing_code__in=taken.values("code"))
        | _with(Consent.objects.filter(swimmer__code=swimmer), "consent")
        | _with(Guardianship.objects.filter(swimmer__code=swimmer), "guardianship")
    )


def _with(rows: QuerySet[Consent] | QuerySet[Guardianship], thing: str) -> Q:
    return Q(thing=thing, thing_code__in=rows.values("code"))


def _of(code: UUID) -> Q:
    """A thing; of a recording or a clip whatever of it can be seen, whole copies included."""
    clips = Clip.objects.filter(Q(code=code) | Q(recording__code=code))
    copies = Rendition.objects.filter(
        Q(recording__code=code) | Q(clip__code=code) | Q(clip=None, recording__clips__code=code)
    )
    return (
        Q(thing_code=code)
        | Q(thing="clip", thing_code__in=clips.values("code"))
        | Q(thing="rendition", thing_code__in=copies.values("code"))
    )


def tell(rows: Iterable[Entry]) -> list[Told]:
    """One query for each kind of thing among the rows, however many they are."""
    found = list(rows)
    by_thing: dict[str, set[UUID]] = defaultdict(set)
    for row in found:
        by_thing[row.thing].add(row.thing_code)
    names = {thing: NAMING[thing](codes) for thing, codes in by_thing.items() if thing in NAMING}
    swimmers = _swimmers(_codes_in(found, "swimmer"))
    people = _users(
        {row.actor_code for row in found if row.actor_code}
        | _codes_in(found, "user")
        | _codes_in(found, "to")
    )
    return [_told(row, names.get(row.thing, {}), swimmers, people) for row in found]


def _told(row: Entry, names: Names, swimmers: Names, people: Names) -> Told:
    detail = row.detail
    also = [
        swimmers.get(_code(detail.get("swimmer")), ""),
        people.get(_code(detail.get("user")), ""),
        people.get(_code(detail.get("to")), ""),
    ]
    name = names.get(row.thing_code, "")
    named = [word for word in dict.fromkeys([name, *also]) if word]
    states = [str(detail[key]) for key in ("what", "state", "purpose", "role") if key in detail]
    who = (
        people.get(row.actor_code, str(_("somebody who is no longer here")))
        if (row.actor_code)
        else str(_("the portal"))
    )
    return Told(
        entry=row,
        who=who,
        kind=str(KINDS.get(row.thing, row.thing)),
        name=", ".join(named),
        more=", ".join(states),
    )


def _codes_in(rows: Iterable[Entry], key: str) -> set[UUID]:
    return {_code(row.detail[key]) for row in rows if row.detail.get(key)}


def _code(value: object) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        return UUID(int=0)


def _users(codes: set[UUID]) -> Names:
    return dict(User.objects.filter(code__in=codes).values_list("code", "name"))


def _swimmers(codes: set[UUID]) -> Names:
    return {one.code: one.name for one in Swimmer.objects.filter(code__in=codes)}


def _sessions(codes: set[UUID]) -> Names:
    found = Session.objects.filter(code__in=codes).select_related("squad")
    return {one.code: f"{one.squad}, {one.date:%d.%m.%Y}" for one in found}


def _recordings(codes: set[UUID]) -> Names:
    return dict(Recording.objects.filter(code__in=codes).values_list("code", "name"))


def _clips(codes: set[UUID]) -> Names:
    found = Clip.objects.filter(code__in=codes)
    return _joined(found.values_list("code", "swimmers__first_name", "swimmers__last_name"))


def _renditions(codes: set[UUID]) -> Names:
    """A clip's copy by who swims in it, a whole one by its recording's name."""
    found = Rendition.objects.filter(code__in=codes)
    whole = found.filter(clip=None).values_list("code", "recording__name")
    first, last = "clip__swimmers__first_name", "clip__swimmers__last_name"
    return dict(whole) | _joined(found.exclude(clip=None).values_list("code", first, last))


def _joined(rows: Iterable[tuple[UUID, str | None, str | None]]) -> Names:
    names: dict[UUID, list[str]] = defaultdict(list)
    for code, first, last in rows:
        if first:
            names[code].append(f"{first} {last}")
    return {code: ", ".join(sorted(each)) for code, each in names.items()}


def _through_swimmer(model: type[Consent] | type[Guardianship]) -> Callable[[set[UUID]], Names]:
    def names(codes: set[UUID]) -> Names:
        found = model.objects.filter(code__in=codes).select_related("swimmer")
        return {one.code: one.swimmer.name for one in found}

    return names


def _through_user(
    model: type[Membership] | type[Suspension] | type[EmergencyLook],
) -> Callable[[set[UUID]], Names]:
    def names(codes: set[UUID]) -> Names:
        return dict(model.objects.filter(code__in=codes).values_list("code", "user__name"))

    return names


def _squads(codes: set[UUID]) -> Names:
    return dict(Squad.objects.filter(code__in=codes).values_list("code", "name"))


def _cases(codes: set[UUID]) -> Names:
    return dict(Case.objects.filter(code__in=codes).values_list("code", "number"))


NAMING: dict[str, Callable[[set[UUID]], Names]] = {
    "rendition": _renditions,
    "clip": _clips,
    "recording": _recordings,
    "hold": _recordings,
    "swimmer": _swimmers,
    "session": _sessions,
    "squad": _squads,
    "consent": _through_swimmer(Consent),
    "guardianship": _through_swimmer(Guardianship),
    "membership": _through_user(Membership),
    "suspension": _through_user(Suspension),
    "emergencylook": _through_user(EmergencyLook),
    "case": _cases,
}


def people_of(clubs: QuerySet[Club]) -> list[tuple[str, str]]:
    """Whoever is or was tied to them, to choose from. One query."""
    found = User.objects.filter(
        Q(pk__in=Membership.objects.filter(club__in=clubs).values("user"))
        | Q(pk__in=Guardianship.objects.filter(swimmer__club__in=clubs).values("guardian"))
        | Q(pk__in=Swimmer.objects.filter(club__in=clubs, user__isnull=False).values("user"))
        | Q(openness_squads__club__in=clubs)
    ).distinct()
    return [(str(code), name) for code, name in found.order_by("name").values_list("code", "name")]


def swimmers_of(clubs: QuerySet[Club]) -> list[tuple[str, str]]:
    found = Swimmer.objects.filter(club__in=clubs).order_by("first_name", "last_name")
    return [(str(one.code), one.name) for one in found]
