"""What has been said to whom in the weekly mail, so that nothing is said twice or left out."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from portal.mailroom.models import OutgoingMail
from portal.people.models import Swimmer, User
from portal.review.models import Review


class Mention(models.Model):
    """A weekly mail has this swimmer's name in it, be it only to say that nothing is new."""

    mail = models.ForeignKey(OutgoingMail, on_delete=models.CASCADE, related_name="+")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["mail", "swimmer"], name="mentioned_once_a_mail")
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} in {self.mail}"


class DeliveredQuerySet(models.QuerySet["Delivered"]):
    def for_good(self) -> DeliveredQuerySet:
        """Not what stood in a mail that never left: it is told again in the next one."""
        never_left = (OutgoingMail.State.DUE, OutgoingMail.State.FAILED)
        return self.exclude(mail__state__in=never_left)


class Delivered(models.Model):
    """One publishing of a review as one person's weekly mail told it."""

    mail = models.ForeignKey(OutgoingMail, on_delete=models.CASCADE, related_name="+")
    recipient = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    review = models.ForeignKey(Review, on_delete=models.CASCADE, related_name="+")
    publishing = models.PositiveIntegerField(help_text=_("The review's count at the time."))

    objects = DeliveredQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recipient", "review", "publishing"], name="delivered_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.review}, publishing {self.publishing}"
