"""Opening a club: all that must be known before the first evening, in one go or not at all."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Club, Course, Membership, Season, Squad, User

Role = Membership.Role


class Impossible(Exception):
    """An answer that cannot be right; the message quotes it and says what to do."""


@dataclass(frozen=True)
class Plan:
    name: str
    zone: str
    course: str
    season_starts: date
    season_ends: date
    squad: str
    head_coach: str
    head_coach_email: str
    officer: str
    officer_email: str
    second: str
    """Who hears of concerns about the officer."""
    second_email: str
    second_adult: str = ""
    """Of the first squad, as far as somebody is found already."""
    second_adult_email: str = ""


def check_name(name: str) -> str:
    if not name.strip():
        raise Impossible(_("The club needs a name."))
    if Club.objects.filter(name__iexact=name.strip()).exists():
        raise Impossible(
            _("There is a club “%(name)s” already. Take another name, or sign in to that club.")
            % {"name": name}
        )
    return name.strip()


def check_zone(zone: str) -> str:
    known = available_timezones()
    if zone in known:
        return zone
    by_end = {each.rpartition("/")[2].lower(): each for each in sorted(known, reverse=True)}
    close = difflib.get_close_matches(zone.lower().replace(" ", "_"), by_end, n=3, cutoff=0.5)
    hint = ", ".join(by_end[end] for end in close) or "Europe/London"
    raise Impossible(
        _("“%(zone)s” is no time zone. It is written like %(hint)s.") % {"zone": zone, "hint": hint}
    )


def check_course(course: str) -> str:
    if course in Course.values:
        return course
    raise Impossible(
        _("“%(course)s” is no length of a pool. Take one of: %(all)s.")
        % {"course": course, "all": ", ".join(Course.values)}
    )


def check_day(day: str) -> date:
    try:
        return date.fromisoformat(day.strip())
    except ValueError:
        raise Impossible(
            _("“%(day)s” is no date. Write it as 2026-09-01.") % {"day": day}
        ) from None


def check_address(address: str) -> str:
    try:
        validate_email(address.strip())
    except ValidationError:
        raise Impossible(
            _("“%(address)s” is not a whole address. It looks like name@example.org.")
            % {"address": address}
        ) from None
    return address.strip().lower()


def check_address_if_any(address: str) -> str:
    return check_address(address) if address.strip() else ""


def check(plan: Plan) -> None:
    """What single answers cannot show."""
    if plan.season_ends <= plan.season_starts:
        raise Impossible(
            _("The season ends on %(ends)s and begins on %(starts)s. Turn them round.")
            % {"ends": plan.season_ends, "starts": plan.season_starts}
        )
    if plan.officer_email == plan.head_coach_email:
        raise Impossible(
            _("%(address)s cannot be head coach and welfare officer: concerns go past the coaches.")
            % {"address": plan.officer_email}
        )
    if plan.second_email in (plan.officer_email, plan.head_coach_email):
        raise Impossible(
            _(
                "%(address)s cannot be the second recipient as well: that is for concerns about"
                " the officer, and goes past the coaches. Name a third person."
            )
            % {"address": plan.second_email}
        )
    if bool(plan.second_adult) != bool(plan.second_adult_email):
        raise Impossible(
            _("The second adult needs a name and an address. Leave both out to name one later.")
        )


@transaction.atomic
def open_club(plan: Plan, *, at: datetime) -> tuple[Club, User]:
    """The club and its head coach. Raises Impossible, and then nothing has been written."""
    check_name(plan.name)
    check(plan)
    club = Club.objects.create(name=plan.name, zone=plan.zone, course=plan.course)
    today = club.day(at)
    Season.objects.create(
        club=club,
        name=f"{plan.season_starts.year}/{plan.season_ends.year % 100:02}",
        starts=plan.season_starts,
        ends=plan.season_ends,
    )
    second_adult = (
        User.objects.of_address(plan.second_adult_email, name=plan.second_adult)
        if plan.second_adult
        else None
    )
    Squad.objects.create(club=club, name=plan.squad, second_adult=second_adult)
    people = [
        (Role.HEAD_COACH, plan.head_coach, plan.head_coach_email),
        (Role.WELFARE, plan.officer, plan.officer_email),
        (Role.SECOND_RECIPIENT, plan.second, plan.second_email),
    ]
    members = {}
    for role, name, address in people:
        user = User.objects.of_address(address, name=name)
        Membership.objects.create(user=user, club=club, role=role, starts=today)
        members[role] = user
    head = members[Role.HEAD_COACH]
    note(Entry.Action.MADE, club, at=at, by=None, club=club, what="opened")
    return club, head
