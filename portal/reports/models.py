"""Sheets of paper: asked for on a page, made by a job, kept until the next one is made."""

from __future__ import annotations

import uuid

from django.db import models

from portal.people.models import User
from portal.recordings.models import Session


class Sheet(models.Model):
    """The sheet of one session as PDF. Without a file it is still to be made."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="sheets")
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    file = models.FileField(upload_to="sheets", max_length=200, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)
    made_of = models.CharField(
        max_length=64, blank=True, help_text="Fingerprint of what stands on it."
    )

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"sheet of {self.session}"

    @property
    def job_key(self) -> str:
        return f"sheet:{self.code}"
