"""What a family and a squad's coaches say to each other below the notes of one session.

It stands below the pages that show it, so that whoever protects the club's children reads all of
it. A row is never changed but for its mark of having been seen, and nobody removes one alone.
"""

from __future__ import annotations

import uuid
from typing import Self

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from portal.people.access import Actor
from portal.people.models import Swimmer, User
from portal.recordings.models import Session

LONGEST = 300


class ReplyQuerySet(models.QuerySet["Reply"]):
    def waiting_for(self, actor: Actor) -> Self:
        """Questions to the squads that this person leads which nobody has taken up."""
        led = Q(session__squad__in=actor.coaches) | Q(session__squad__club__in=actor.heads)
        return self.filter(led, kind=Reply.Kind.SHOW_ME, seen_at=None)


class Reply(models.Model):
    class Kind(models.TextChoices):
        GOT_IT = "got it", _("got it")
        SHOW_ME = "show me", _("show me")
        FROM_COACH = "from coach", _("from a coach")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    review_code = models.UUIDField(help_text="The notes below which it stands.")
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="replies")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="replies")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    words = models.CharField(max_length=LONGEST, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, help_text="By the other side.")
    seen_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    objects = ReplyQuerySet.as_manager()

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["review_code", "at"], name="reply_by_notes")]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="from coach", words=""), name="a_coach_answers_in_words"
            ),
            models.CheckConstraint(
                condition=Q(seen_at=None, seen_by=None)
                | Q(seen_at__isnull=False, seen_by__isnull=False),
                name="seen_by_somebody_at_some_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.code}"

    @property
    def is_from_coach(self) -> bool:
        return self.kind == Reply.Kind.FROM_COACH
