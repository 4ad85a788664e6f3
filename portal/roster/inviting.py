"""Asking somebody in by mail, at the address that the club or, for a child, a guardian has named.

One mail goes to each address, whatever number of children it is about. There is no link in it that
signs anybody in: it leads to the page where a code is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.people import consenting
from portal.people.ages import GROWN_UP, OWN_SIGN_IN
from portal.people.models import Club, Consent, Guardianship, Swimmer, User
from portal.roster.models import LASTS, Invitation

# Nothing is mailed to a child at night.
MORNING, EVENING = time(8), time(20)


class NotInvited(Exception):
    """No mail has been written; the message says why and what to do."""


@transaction.atomic
def invite_guardians(ties: Iterable[Guardianship], *, by: User, at: datetime) -> list[Invitation]:
    """Each guardian once, about all children of the club that wait for them."""
    guardians = {(tie.guardian, tie.swimmer.club): tie for tie in ties}
    return [
        _invite(guardian, club=club, swimmer=None, by=by, at=at)
        for guardian, club in sorted(guardians, key=lambda pair: pair[0].pk)
    ]


@transaction.atomic
def invite_swimmer(
    swimmer: Swimmer, *, address: str, by: User, at: datetime, copy_to: User | None = None
) -> Invitation:
    """To a sign-in of their own; of a child's, a guardian gets a copy. Raises NotInvited."""
    today = swimmer.club.day(at)
    check_age(swimmer, at=at)
    if swimmer.age(today) < GROWN_UP and copy_to is None:
        raise NotInvited(_("Until 18 only a guardian can name the swimmer’s own address."))
    own = User.objects.of_address(address, name=swimmer.name)
    if swimmer.guardianships.filter(guardian=own).exists() or _is_somebody_else(own, swimmer):
        raise NotInvited(
            _("This address belongs to somebody else here. Type an address that only they read.")
        )
    Invitation.objects.filter(swimmer=swimmer, accepted_at=None).exclude(user=own).delete()
    invitation = _invite(own, club=swimmer.club, swimmer=swimmer, by=by, at=at)
    if copy_to:
        _post(invitation, copy_to, template="own_sign_in_copy", at=at, due_at=at)
    return invitation


def check_age(swimmer: Swimmer, *, at: datetime) -> None:
    if swimmer.age(swimmer.club.day(at)) < OWN_SIGN_IN:
        raise NotInvited(
            _(
                "%(name)s is under 13. Until then you read the notes together, on your phone;"
                " nothing is collected from a younger child."
            )
            % {"name": swimmer.first_name}
        )


def waiting(invitation: Invitation, *, at: datetime) -> QuerySet[Guardianship]:
    """The ties that a guardian's answer would make hold."""
    ties = Guardianship.objects.named(invitation.club.day(at)).filter(
        guardian=invitation.user, swimmer__club=invitation.club, is_accepted=False
    )
    return ties.select_related("swimmer").order_by("swimmer__first_name", "swimmer")


def holds(invitation: Invitation, *, at: datetime) -> bool:
    """Whether it would be written today, too."""
    if not Invitation.objects.open(at).filter(pk=invitation.pk).exists():
        return False
    if invitation.swimmer is None:
        return waiting(invitation, at=at).exists()
    return may_sign_in(invitation.swimmer, at=at)


def may_sign_in(swimmer: Swimmer, *, at: datetime) -> bool:
    """Grown-ups on their own word; from 13 on once a guardian has agreed and none refuses."""
    today = swimmer.club.day(at)
    if swimmer.age(today) >= GROWN_UP:
        return True
    agreed = consenting.allowed(Consent.Purpose.SIGN_IN, of=[swimmer], on=today)
    return swimmer.age(today) >= OWN_SIGN_IN and bool(agreed)


def _is_somebody_else(own: User, swimmer: Swimmer) -> bool:
    return Swimmer.objects.filter(user=own).exclude(pk=swimmer.pk).exists()


def _invite(
    user: User, *, club: Club, swimmer: Swimmer | None, by: User, at: datetime
) -> Invitation:
    """A second one takes the place of the first, with all its tries."""
    invitation, is_new = Invitation.objects.get_or_create(
        club=club,
        user=user,
        swimmer=swimmer,
        accepted_at=None,
        defaults={"by": by, "sent_at": at, "expires_at": at + LASTS},
    )
    if not is_new:
        Invitation.objects.filter(pk=invitation.pk).update(
            by=by, sent_at=at, expires_at=at + LASTS, sendings=F("sendings") + 1, wrong_years=0
        )
        invitation.refresh_from_db()
    note(Entry.Action.MADE, invitation, at=at, by=by, club=club, to=str(user.code))
    template = "own_sign_in" if swimmer else "invitation"
    _post(
        invitation,
        user,
        template=template,
        at=at,
        due_at=by_day(at, club) if _is_child(invitation, at=at) else at,
    )
    return invitation


def _is_child(invitation: Invitation, *, at: datetime) -> bool:
    swimmer = invitation.swimmer
    return swimmer is not None and swimmer.age(invitation.club.day(at)) < GROWN_UP


def by_day(at: datetime, club: Club) -> datetime:
    """Then, or at eight in the next morning of the club."""
    local = at.astimezone(ZoneInfo(club.zone))
    if MORNING <= local.time() < EVENING:
        return at
    day = local.date() + timedelta(days=local.time() >= EVENING)
    return datetime.combine(day, MORNING, local.tzinfo)


def _post(
    invitation: Invitation, reader: User, *, template: str, at: datetime, due_at: datetime
) -> None:
    club = invitation.club
    mail = post(
        reader,
        club=club,
        kind=OutgoingMail.Kind.INVITATION,
        key=f"invitation:{invitation.code}:{invitation.sendings}:{reader.code}",
        template=template,
        context={
            "invitation": invitation,
            "names": [tie.swimmer.first_name for tie in waiting(invitation, at=at)],
            "is_copied": template == "own_sign_in" and _is_child(invitation, at=at),
            "until": club.day(invitation.expires_at),
            "welcome_address": settings.PUBLIC_ADDRESS + reverse("roster:welcome"),
            "concern_address": settings.PUBLIC_ADDRESS + reverse("concern"),
        },
        at=at,
    )
    if mail:
        dispatch(mail, at=due_at, kind="roster.send_invitation", invitation=str(invitation.code))
