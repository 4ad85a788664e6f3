"""Mail is a row first and a message later."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class OutgoingMail(models.Model):
    class State(models.TextChoices):
        DUE = "due", _("due")
        SENDING = "sending", _("sending")
        SENT = "sent", _("sent")
        FAILED = "failed", _("failed")
        SKIPPED = "skipped", _("skipped")
        UNKNOWN = "unknown", _("unknown")

    class Kind(models.TextChoices):
        NOTES_READY = "notes ready", _("notes are ready")
        WEEKLY = "weekly digest", _("weekly digest")
        INVITATION = "invitation", _("invitation")
        CODE = "sign-in code", _("sign-in code")
        SECURITY = "security notice", _("change of the way in")
        SAFEGUARDING = "safeguarding", _("word of a concern or a measure")
        TRIAL = "trial", _("trial of the mail")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(
        "people.Club",
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="mails",
        help_text="None for what concerns the account and no club.",
    )
    recipient = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="mails"
    )
    address = models.EmailField()
    kind = models.CharField(max_length=20, choices=Kind.choices)
    key = models.CharField(
        max_length=160, unique=True, help_text="Kind, period and recipient: never twice."
    )
    subject = models.CharField(max_length=120)
    text = models.TextField()
    html = models.TextField(blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DUE)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
    last_error = models.TextField(blank=True)
    resent = models.PositiveSmallIntegerField(default=0, help_text="How often by hand.")

    class Meta:
        indexes = [models.Index(fields=["state", "created_at"], name="mail_outbox")]

    def __str__(self) -> str:
        return f"{self.kind} {self.code}"

    @property
    def holds_a_secret(self) -> bool:
        """What opens the door must not lie about once it is on its way."""
        return self.kind == OutgoingMail.Kind.CODE

    def is_too_late(self, at: datetime) -> bool:
        """A code that works no longer would only puzzle its reader."""
        life = timedelta(seconds=settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT)
        return self.holds_a_secret and at - self.created_at > life


class Refusal(models.Model):
    """An address to which mail comes back. Nothing is sent there until its owner tries again."""

    address = models.EmailField(unique=True, help_text="In small letters.")
    since = models.DateTimeField()
    said = models.TextField(help_text="What the other side answered, without the address.")

    def __str__(self) -> str:
        return f"refused since {self.since:%Y-%m-%d}"


class Stop(models.Model):
    """Somebody wants no more mail of a kind: about one child, or at all."""

    KINDS = (OutgoingMail.Kind.NOTES_READY, OutgoingMail.Kind.WEEKLY)

    recipient = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="stops"
    )
    kind = models.CharField(max_length=20, choices=[(kind.value, kind.label) for kind in KINDS])
    swimmer = models.ForeignKey(
        "people.Swimmer", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    since = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recipient", "kind"], condition=Q(swimmer=None), name="stopped_once"
            ),
            models.UniqueConstraint(
                fields=["recipient", "kind", "swimmer"], name="stopped_once_for_a_child"
            ),
        ]

    def __str__(self) -> str:
        return f"no {self.kind} to {self.recipient}"
