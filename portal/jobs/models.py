"""Work that takes longer than a page may take. The row is the truth about it."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class JobQuerySet(models.QuerySet["Job"]):
    def claimable(self, at: datetime) -> Self:
        """Due and free: queued, or running with a lease that its worker let expire."""
        return self.filter(
            Q(state=Job.State.QUEUED, due_at__lte=at)
            | Q(state=Job.State.RUNNING, lease_until__lt=at)
        )


class Job(models.Model):
    class State(models.TextChoices):
        QUEUED = "queued", _("waiting")
        RUNNING = "running", _("running")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")

    MAX_ATTEMPTS = 3

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=60)
    key = models.CharField(max_length=120, unique=True, help_text="One job for one piece of work.")
    queue = models.CharField(max_length=20)
    payload = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    attempts = models.PositiveSmallIntegerField(default=0)
    due_at = models.DateTimeField()
    worker = models.CharField(max_length=60, blank=True)
    lease_until = models.DateTimeField(null=True)
    progress = models.FloatField(default=0, help_text="Share done, 0 to 1.")
    problem = models.CharField(max_length=300, blank=True, help_text="For people to read.")
    last_error = models.TextField(blank=True, help_text="For whoever runs the portal.")
    created_at = models.DateTimeField()
    began_at = models.DateTimeField(null=True, help_text="Of the last attempt.")
    ended_at = models.DateTimeField(null=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["queue", "state", "due_at"], name="job_claiming"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
