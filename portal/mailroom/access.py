"""The outbox of a club and its mails, for whoever heads the club, or 404.

It holds what the club sends to families and staff. What concerns somebody's account, or a
concern, is nobody's business there.
"""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from portal.mailroom.models import OutgoingMail
from portal.people.access import Actor
from portal.people.models import Club
from portal.people.reaching import headed_club_for

SHOWN = (
    OutgoingMail.Kind.NOTES_READY,
    OutgoingMail.Kind.WEEKLY,
    OutgoingMail.Kind.INVITATION,
    OutgoingMail.Kind.TRIAL,
)


def outbox_for(actor: Actor, code: UUID) -> tuple[Club, QuerySet[OutgoingMail]]:
    """Newest first."""
    club = headed_club_for(actor, code)
    mails = OutgoingMail.objects.filter(club=club, kind__in=SHOWN).select_related("recipient")
    return club, mails.order_by("-created_at", "-pk")


def mail_for(actor: Actor, code: UUID) -> OutgoingMail:
    mails = OutgoingMail.objects.filter(club__in=actor.heads, kind__in=SHOWN)
    return get_object_or_404(mails.select_related("club", "recipient"), code=code)
