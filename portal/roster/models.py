"""Who was asked to come in."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Self

from django.db import models
from django.db.models import F, Q

from portal.people.models import Club, Swimmer, User

LASTS = timedelta(days=7)
MOST_WRONG_YEARS = 3


class InvitationQuerySet(models.QuerySet["Invitation"]):
    def open(self, at: datetime) -> Self:
        """That somebody may still answer."""
        return self.filter(accepted_at=None, expires_at__gt=at, wrong_years__lt=MOST_WRONG_YEARS)


class Invitation(models.Model):
    """From a club to the address that it has for somebody: to a guardian about all children of
    theirs that wait, or to one swimmer about a sign-in of their own.

    It holds no secret. What opens the door is a code mailed to the address, and the year in which
    the child was born: whoever reads somebody else's mail lacks the one, and whoever got it because
    the address was mistyped the other.
    """

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="invitations")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="invitations")
    swimmer = models.ForeignKey(
        Swimmer, on_delete=models.CASCADE, null=True, blank=True, related_name="invitations"
    )
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField()
    sendings = models.PositiveSmallIntegerField(default=1)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    wrong_years = models.PositiveSmallIntegerField(default=0)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["club", "user"],
                condition=Q(accepted_at=None, swimmer=None),
                name="guardian_invited_once",
            ),
            models.UniqueConstraint(
                fields=["swimmer"],
                condition=Q(accepted_at=None, swimmer__isnull=False),
                name="swimmer_invited_once",
            ),
            models.CheckConstraint(
                condition=Q(expires_at__lte=F("sent_at") + LASTS), name="invitation_is_short"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} to {self.club}"

    @property
    def is_blocked(self) -> bool:
        return self.wrong_years >= MOST_WRONG_YEARS
