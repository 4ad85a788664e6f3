"""What has been said to whom in the weekly mail, so that nothing is said twice or left out."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, Swimmer, User
from portal.review.models import Review


class Preface(models.Model):
    """What the head coach wants of one week's mail: a line before the notes, or that it waits."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="prefaces")
    week = models.CharField(max_length=8, help_text="As in 2026-W47.")
    opening = models.CharField(_("opening line"), max_length=300, blank=True)
    why_held = models.CharField(_("why it waits"), max_length=200, blank=True)
    changed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "week"], name="one_preface_a_week")]

    def __str__(self) -> str:
        return f"{self.club} {self.week}"


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
        state = OutgoingMail.State
        never_left = (state.DUE, state.FAILED, state.SKIPPED)
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
