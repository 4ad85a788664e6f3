"""The answer to an invitation, by somebody who has already shown that they read the address.

The second check is the year in which the swimmer was born: a mistyped address, or somebody with
access to another's mail, opens nothing. An unknown address, a spent invitation and a wrong year
are told apart nowhere.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F, QuerySet

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import Guardianship, Swimmer, User
from portal.roster import inviting
from portal.roster.models import Invitation


def open_for(user: User, *, at: datetime) -> QuerySet[Invitation]:
    return Invitation.objects.open(at).filter(user=user).select_related("club", "swimmer__club")


@transaction.atomic
def accept(user: User, *, year: int, at: datetime) -> list[Swimmer]:
    """Whose notes can be read now, as guardian or as the swimmer. Nobody: it did not fit, and a
    try was counted. Siblings who were invited in one mail come in with one year."""
    taken: list[Swimmer] = []
    invitations = list(open_for(user, at=at).select_for_update(of=("self",)))
    for invitation in invitations:
        if children := _children(invitation, year, at):
            _take(invitation, at=at)
            taken += children
    if not taken:
        count_wrong_year(user, at=at)
    return taken


def count_wrong_year(user: User, *, at: datetime) -> None:
    """After three the club has to look at the address and to ask anew."""
    found = list(open_for(user, at=at))
    Invitation.objects.filter(pk__in=[each.pk for each in found]).update(
        wrong_years=F("wrong_years") + 1
    )
    for invitation in found:
        note(Entry.Action.REFUSED, invitation, at=at, by=user, club=invitation.club, why="year")


def _children(invitation: Invitation, year: int, at: datetime) -> list[Swimmer]:
    """All whom the invitation is about, if one of them was born in that year."""
    if invitation.swimmer is None:
        children = [tie.swimmer for tie in inviting.waiting(invitation, at=at)]
    else:
        swimmer = invitation.swimmer
        is_free = swimmer.user_id in (None, invitation.user_id)
        children = [swimmer] if is_free and inviting.may_sign_in(swimmer, at=at) else []
    return children if any(child.born.year == year for child in children) else []


def _take(invitation: Invitation, *, at: datetime) -> None:
    user = invitation.user
    if invitation.swimmer is None:
        ties = list(inviting.waiting(invitation, at=at))
        Guardianship.objects.filter(pk__in=[tie.pk for tie in ties]).update(is_accepted=True)
    else:
        Swimmer.objects.filter(pk=invitation.swimmer.pk).update(user=user)
    Invitation.objects.filter(pk=invitation.pk).update(accepted_at=at)
    note(Entry.Action.CHANGED, invitation, at=at, by=user, club=invitation.club, state="accepted")
