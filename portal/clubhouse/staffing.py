"""Who does what in a club: a role begins and ends on a day, and those concerned are told."""

from __future__ import annotations

import uuid
from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.people.models import Club, Membership, Squad, User

Role = Membership.Role
OF_A_SQUAD = (Role.COACH, Role.ASSISTANT)
COACHING = (Role.HEAD_COACH, Role.COACH, Role.ASSISTANT)
APART = (Role.WELFARE, Role.SECOND_RECIPIENT)


class Refused(Exception):
    """Why it stays as it is; the message says what to do."""


def give(
    club: Club,
    role: Membership.Role,
    *,
    squad: Squad | None,
    name: str,
    address: str,
    by: User,
    at: datetime,
) -> Membership:
    today = club.day(at)
    with transaction.atomic():
        user = User.objects.of_address(address, name=name)
        _must_fit(club, role, user, squad=squad, by=by, at=at)
        member = Membership.objects.create(
            user=user, club=club, squad=squad, role=role, starts=today
        )
        note(Entry.Action.MADE, member, at=at, by=by, club=club, role=role)
        _tell(member, has_begun=True, at=at)
    return member


def end(member: Membership, *, by: User, at: datetime) -> None:
    """From today on. A club is never left without a head coach."""
    club, today = member.club, member.club.day(at)
    with transaction.atomic():
        heads = Membership.objects.filter(club=club, role=Role.HEAD_COACH).on(today)
        others = heads.select_for_update().exclude(pk=member.pk)
        if member.role == Role.HEAD_COACH and not others.exists():
            raise Refused(_("The club needs a head coach. Name another one first."))
        member.ends = max(today, member.starts)
        member.save(update_fields=["ends"])
        note(Entry.Action.CHANGED, member, at=at, by=by, club=club, what="ended")
        _tell(member, has_begun=False, at=at)


def _must_fit(
    club: Club,
    role: Membership.Role,
    user: User,
    *,
    squad: Squad | None,
    by: User,
    at: datetime,
) -> None:
    if (role in OF_A_SQUAD) != (squad is not None):
        raise Refused(
            _("A coach or an assistant needs a squad; every other part is for the whole club.")
        )
    if squad is not None and squad.second_adult_id == user.pk:
        raise Refused(
            _("%(name)s is the second adult of %(squad)s. Name another one there first.")
            % {"name": user, "squad": squad}
        )
    if user == by:
        raise Refused(_("Nobody gives a part to themselves. Let another head coach do it."))
    held = list(Membership.objects.filter(club=club, user=user).on(club.day(at)))
    if any(row.role == role and row.squad_id == (squad.pk if squad else None) for row in held):
        raise Refused(_("%(name)s has this part already.") % {"name": user})
    parts = {row.role for row in held}
    if role in APART and parts & {*COACHING, *APART}:
        raise Refused(
            _(
                "Concerns go past the coaches, and one about the officer past the officer: choose"
                " somebody with no other part in the club than a parent’s."
            )
        )
    if role in COACHING and parts & set(APART):
        raise Refused(
            _("%(name)s hears of concerns, so somebody else has to coach.") % {"name": user}
        )


def _tell(member: Membership, *, has_begun: bool, at: datetime) -> None:
    heads = User.objects.filter(
        memberships__in=Membership.objects.filter(club=member.club, role=Role.HEAD_COACH).on(
            member.club.day(at)
        )
    )
    for reader in {member.user, *heads}:
        mail = post(
            reader,
            club=member.club,
            kind=OutgoingMail.Kind.INVITATION,
            key=f"role:{member.code}:{has_begun}:{reader.code}:{uuid.uuid4().hex[:8]}",
            template="role",
            context={
                "member": member,
                "has_begun": has_begun,
                "is_own": reader == member.user,
                "address": settings.PUBLIC_ADDRESS,
            },
            at=at,
        )
        if mail:
            dispatch(mail, at=at)
