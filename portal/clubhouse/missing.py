"""What a club still needs before its first evening of film, in the order in which to do it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from allauth.mfa.models import Authenticator
from django.conf import settings
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext as _

from portal.clubhouse.access import address, headed_clubs
from portal.doorway.strengthening import FACTORS
from portal.mailroom.models import OutgoingMail
from portal.people.access import Actor
from portal.people.models import Club, Consent, Guardianship, Membership, Squad, Swimmer

Role = Membership.Role
State = OutgoingMail.State


@dataclass(frozen=True)
class Step:
    name: str
    is_done: bool
    said: str
    """What is there, or what to do."""
    address: str
    """Where it is done; empty when that is not a page of the club's."""


def count(actor: Actor) -> int:
    """How many things the first club lacks that this person heads; 0 for who heads none. Costs
    as many queries as the steps and one more, and others none."""
    if not actor.heads:
        return 0
    club = headed_clubs(actor)[0]
    return sum(not step.is_done for step in steps(club, on=actor.today))


def steps(club: Club, *, on: date) -> list[Step]:
    """Some twelve queries, however large the club is."""
    return [
        _mail(club),
        _policy(club),
        _season(club, on=on),
        _pools(club),
        _officers(club, on=on),
        *_squads(club, on=on),
        *_families(club, on=on),
        *(_factors(club, on=on) if settings.STAFF_FACTOR else []),
    ]


def _mail(club: Club) -> Step:
    trials = OutgoingMail.objects.filter(club=club, kind=OutgoingMail.Kind.TRIAL)
    last = trials.order_by("-created_at", "-pk").first()
    is_sent = last is not None and last.state == State.SENT
    if club.is_demo:
        return Step(
            _("Mail leaves"), is_done=True, said=_("The demo’s mail lies in a folder."), address=""
        )
    if is_sent:
        said = _("The last test mail left. If it did not arrive, look in the unwanted mail.")
    elif last is not None and last.state in (State.FAILED, State.UNKNOWN):
        said = _("The test mail did not leave: %(why)s") % {"why": last.last_error}
    else:
        said = _("Send yourself a test mail: without mail nobody can sign in.")
    return Step(_("Mail leaves"), is_sent, said, "")


def _policy(club: Club) -> Step:
    is_done = bool(club.policy and club.policy_reviewed_on)
    said = (
        _("Edition %(edition)s.") % {"edition": club.policy_edition}
        if is_done
        else _("Write down what families agree to, before you ask them.")
    )
    page = reverse("people:change_policy", args=[club.code])
    return Step(_("Policy on film and pictures"), is_done, said, page)


def _season(club: Club, *, on: date) -> Step:
    season = club.seasons.filter(starts__lte=on, ends__gte=on).first()
    said = str(season) if season else _("No season covers today, so a yes has no end.")
    return Step(_("Season"), season is not None, said, address("seasons", club))


def _pools(club: Club) -> Step:
    names = list(club.pools.values_list("name", flat=True))
    said = ", ".join(names) or _("Name the pool where you film.")
    return Step(_("Pool"), bool(names), said, address("pools", club))


def _officers(club: Club, *, on: date) -> Step:
    roles = [Role.WELFARE, Role.SECOND_RECIPIENT]
    members = Membership.objects.filter(club=club, role__in=roles, user__is_active=True).on(on)
    named = {member.role: member.user.name for member in members.select_related("user")}
    said = (
        ", ".join(named[role] for role in roles)
        if len(named) == len(roles)
        else _("Name a welfare officer, and somebody else who hears of concerns about them.")
    )
    is_done = len(named) == len(roles)
    return Step(_("Who hears of concerns"), is_done, said, address("staff", club))


def _factors(club: Club, *, on: date) -> list[Step]:
    """Asked for wherever staff need one, so everywhere but in the demo."""
    own = Authenticator.objects.filter(user=OuterRef("user"), type__in=FACTORS)
    bare = Membership.objects.filter(~Exists(own), club=club, user__is_active=True).on(on)
    names = sorted(set(bare.values_list("user__name", flat=True)))
    said = (
        _("Still without: %(names)s. Each is asked for it at the first sign-in.")
        % {"names": ", ".join(names)}
        if names
        else _("All have a passkey or a code app.")
    )
    return [
        Step(_("A second step of sign-in for the staff"), not names, said, address("staff", club))
    ]


def _squads(club: Club, *, on: date) -> list[Step]:
    coached = Membership.objects.filter(squad=OuterRef("pk"), role=Role.COACH).on(on)
    swum = Squad.objects.filter(pk=OuterRef("pk"), places__starts__lte=on).filter(
        Q(places__ends=None) | Q(places__ends__gt=on)
    )
    squads = list(club.squads.annotate(has_coach=Exists(coached), has_swimmers=Exists(swum)))
    wanting = {
        _("A coach for each squad"): ([s.name for s in squads if not s.has_coach], "staff"),
        _("A second adult for each squad"): (
            [s.name for s in squads if s.second_adult_id is None],
            "squads",
        ),
        _("Swimmers in each squad"): ([s.name for s in squads if not s.has_swimmers], ""),
    }
    return [
        Step(
            name,
            bool(squads) and not lacking,
            _("Still without: %(squads)s.") % {"squads": ", ".join(lacking)}
            if lacking
            else (_("All have.") if squads else _("There is no squad yet.")),
            address(page, club) if page else reverse("progress:swimmers"),
        )
        for name, (lacking, page) in wanting.items()
    ]


def _families(club: Club, *, on: date) -> list[Step]:
    swimmers = Swimmer.objects.filter(club=club, left_on=None)
    tied = Guardianship.objects.named(on).filter(swimmer=OuterRef("pk"))
    said_yes_or_no = Consent.objects.standing(Consent.Purpose.FILM, on=on)
    answered = said_yes_or_no.filter(swimmer=OuterRef("pk"))
    there = swimmers.count()
    alone = swimmers.filter(~Exists(tied)).count()
    silent = swimmers.filter(~Exists(answered)).count()
    return [
        _counted(_("Guardians"), there, alone, _("%(count)s swimmers have nobody entered.")),
        _counted(
            _("Answers to the four questions"),
            there,
            silent,
            _("%(count)s swimmers may not be filmed yet: nobody has answered."),
        ),
    ]


def _counted(name: str, there: int, wanting: int, words: str) -> Step:
    said = words % {"count": wanting} if wanting else _("Nothing is missing.")
    if not there:
        said = _("There are no swimmers yet.")
    return Step(name, bool(there) and not wanting, said, reverse("progress:swimmers"))
