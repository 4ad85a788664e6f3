"""Who swims in a squad and who belongs to whom, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.people import consenting
from portal.people.ages import GROWN_UP, OWN_SIGN_IN
from portal.people.models import Consent, Guardianship, Squad, SquadPlace, Swimmer
from portal.roster.models import Invitation

# So long after a birthday the head coach is reminded of what changed with it.
A_YEAR = timedelta(days=365)

PURPOSES = {
    Consent.Purpose.FILM: gettext_lazy("film"),
    Consent.Purpose.SHOW: gettext_lazy("show here"),
    Consent.Purpose.MAIL_STILLS: gettext_lazy("picture in mail"),
    Consent.Purpose.VOICE: gettext_lazy("sound"),
}


@dataclass(frozen=True)
class Household:
    """A guardian's tie, as the club's head coach sees it."""

    tie: Guardianship
    invitation: Invitation | None
    at: datetime

    @property
    def state(self) -> str:
        """A word for the sign beside it, and its colour."""
        tie, today = self.tie, self.tie.swimmer.club.day(self.at)
        if tie.ends and tie.ends <= today:
            return "ended"
        if tie.barred_from and tie.barred_from <= today:
            return "barred"
        if tie.swimmer.age(today) >= GROWN_UP and not tie.granted_on:
            return "grown"
        if not tie.is_accepted:
            return "waits"
        return "holds"

    @property
    def is_open(self) -> bool:
        return self.state != "ended"

    @property
    def waits_for(self) -> str:
        if self.tie.is_accepted:
            return ""
        if self.invitation is None:
            return _("Has not been invited yet.")
        if self.invitation.is_blocked:
            return _(
                "Three wrong years were typed. Check the address with them, then invite again."
            )
        last = self.tie.swimmer.club.day(self.invitation.expires_at)
        words = {"day": date_format(last, "j F Y")}
        if self.invitation.expires_at <= self.at:
            return _("The invitation ran out on %(day)s. Invite again.") % words
        return _("Invited; the invitation holds until %(day)s.") % words


@dataclass
class Person:
    """A swimmer on the squad's page."""

    swimmer: Swimmer
    age: int
    group: str
    guardians: list[Household] = field(default_factory=list)
    consents: dict[str, bool | None] = field(default_factory=dict)
    """By purpose; None: nobody has answered."""
    own: str = ""

    @property
    def answers(self) -> list[tuple[str, bool | None]]:
        return [(str(word), self.consents.get(purpose)) for purpose, word in PURPOSES.items()]

    @property
    def is_guarded(self) -> bool:
        return any(each.state == "holds" for each in self.guardians)

    @property
    def waits(self) -> bool:
        return any(each.state == "waits" for each in self.guardians)


def people(squad: Squad, *, at: datetime) -> list[Person]:
    """Of today."""
    here = SquadPlace.objects.on(squad.club.day(at)).filter(squad=squad)
    swimmers = Swimmer.objects.filter(id__in=here.values("swimmer"))
    return persons(swimmers.select_related("club", "user"), at=at)


def former(squad: Squad, *, on: date) -> QuerySet[Swimmer]:
    """Who swam in the squad and swims in none of the club's today: for whoever looks for them."""
    here = SquadPlace.objects.on(on).filter(squad__club=squad.club_id)
    were = squad.places.values("swimmer")
    return Swimmer.objects.filter(id__in=were).exclude(id__in=here.values("swimmer"))


def persons(swimmers: Iterable[Swimmer], *, at: datetime) -> list[Person]:
    """All of one club. Four queries, however many they are."""
    rows = list(swimmers)
    if not rows:
        return []
    today = rows[0].club.day(at)
    found = {row.pk: Person(row, row.age(today), age_group(row, today)) for row in rows}
    for household in households(rows, at=at):
        if household.is_open:
            found[household.tie.swimmer_id].guardians.append(household)
    for swimmer, answers in _answers(rows, on=today).items():
        found[swimmer].consents = answers
    invitations = Invitation.objects.open(at).filter(swimmer__in=rows)
    invited = {each.swimmer_id: each for each in invitations}
    for person in found.values():
        person.own = own_sign_in(person, invited.get(person.swimmer.pk))
    return list(found.values())


def households(swimmers: Collection[Swimmer], *, at: datetime) -> list[Household]:
    """All ties, the ended ones too, by first day. Two queries."""
    ties = (
        Guardianship.objects.filter(swimmer__in=swimmers)
        .select_related("guardian", "swimmer__club")
        .order_by("starts", "pk")
    )
    rows = list(ties)
    invitations = Invitation.objects.filter(
        user__in=[tie.guardian_id for tie in rows if not tie.is_accepted],
        swimmer=None,
        accepted_at=None,
    )
    newest = {(each.user_id, each.club_id): each for each in invitations}
    return [Household(tie, newest.get((tie.guardian_id, tie.swimmer.club_id)), at) for tie in rows]


def _answers(swimmers: Collection[Swimmer], *, on: date) -> dict[int, dict[str, bool | None]]:
    """The strictest of what stands. One query."""
    said: dict[int, dict[str, list[bool]]] = defaultdict(lambda: defaultdict(list))
    rows = Consent.objects.filter(swimmer__in=swimmers, is_newest=True)
    columns = (
        "swimmer",
        "purpose",
        "is_given",
        "until",
        "answered_by",
        "swimmer__born",
        "swimmer__user",
    )
    for swimmer, purpose, is_given, until, by, born, own in rows.values_list(*columns):
        if consenting.counts(until=until, born=born, own=own, by=by, on=on):
            said[swimmer][purpose].append(is_given)
    return {
        swimmer: {purpose: all(given) for purpose, given in answers.items()}
        for swimmer, answers in said.items()
    }


def own_sign_in(person: Person, invitation: Invitation | None) -> str:
    swimmer = person.swimmer
    is_agreed = person.age >= GROWN_UP or person.consents.get(Consent.Purpose.SIGN_IN) is True
    if person.age < OWN_SIGN_IN:
        return _("from 13")
    if swimmer.user_id:
        return _("yes") if is_agreed else _("stopped")
    return _("invited") if invitation and is_agreed else _("no")


def age_group(swimmer: Swimmer, on: date) -> str:
    """By the age on the last day of the year, two years together, as meets count them."""
    years = on.year - swimmer.born.year
    if years <= 10:
        return _("10 and under")
    if years > GROWN_UP:
        return _("19 and over")
    first = years - (years + 1) % 2
    return f"{first}/{first + 1}"


def turned_18(swimmer: Swimmer, *, on: date) -> date | None:
    """The birthday, in the year after it."""
    leap = swimmer.born.month == 2 and swimmer.born.day == 29
    year = swimmer.born.year + GROWN_UP
    birthday = date(year, 3, 1) if leap else swimmer.born.replace(year=year)
    return birthday if birthday <= on < birthday + A_YEAR else None
