"""Who did and saw what: rows that are written once and only read afterwards."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _


class Entry(models.Model):
    """People and things stand here by their codes, so that a row outlives what it names. The
    database refuses to change or remove one: see `sealing`."""

    class Action(models.TextChoices):
        SAW = "saw", _("saw")
        MADE = "made", _("made")
        CHANGED = "changed", _("changed")
        REMOVED = "removed", _("removed")
        PUBLISHED = "published", _("published")
        TOOK_BACK = "took back", _("took back")
        SIGNED_IN = "signed in", _("signed in")
        SIGNED_OUT = "signed out", _("signed out")
        REFUSED = "refused", _("was refused")

    at = models.DateTimeField()
    action = models.CharField(max_length=20, choices=Action.choices)
    actor_code = models.UUIDField(null=True, help_text="Empty when the portal itself acted.")
    club_code = models.UUIDField(null=True)
    thing = models.CharField(max_length=40, help_text="The kind of thing: recording, review.")
    thing_code = models.UUIDField(default=uuid.UUID(int=0))
    detail = models.JSONField(default=dict)

    class Meta:
        indexes = [
            models.Index(fields=["thing", "thing_code", "at"], name="audit_by_thing"),
            models.Index(fields=["club_code", "at"], name="audit_by_club"),
        ]

    def __str__(self) -> str:
        return f"{self.action} {self.thing} {self.thing_code}"
