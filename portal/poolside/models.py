"""The film list of a session: who swims before the camera, in which order, seen from where."""

from __future__ import annotations

import uuid
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings.models import Session, View

LANES = 10
MOST_REPEATS = 20


class TurnQuerySet(models.QuerySet["Turn"]):
    def visible_to(self, actor: Actor) -> Self:
        return self.filter(actor.staff_filter("session__squad"))


class Turn(models.Model):
    """One swimmer's turn. Whoever was filmed stands in the order of the film."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="turns")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="turns")
    place = models.PositiveSmallIntegerField()
    lane = models.PositiveSmallIntegerField(
        _("lane"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(LANES)],
    )
    view = models.CharField(_("view"), max_length=20, choices=View.choices, blank=True)
    repeats = models.PositiveSmallIntegerField(
        _("how often"),
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_REPEATS)],
    )
    filmed_at = models.DateTimeField(null=True, blank=True)
    scratched_at = models.DateTimeField(null=True, blank=True)

    objects = TurnQuerySet.as_manager()

    class Meta:
        ordering = [F("filmed_at").asc(nulls_last=True), "place", "id"]
        constraints = [
            models.UniqueConstraint(fields=["session", "swimmer"], name="one_turn_a_session")
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} in {self.session}"

    @property
    def is_waiting(self) -> bool:
        return not (self.filmed_at or self.scratched_at)

    @property
    def asked(self) -> str:
        """As in “lane 3, side, under water, twice”; empty if nothing was said."""
        said = [
            _("lane %(lane)s") % {"lane": self.lane} if self.lane else "",
            str(View(self.view).label) if self.view else "",
            ngettext("once", "%(n)d times", self.repeats) % {"n": self.repeats}
            if self.repeats > 1
            else "",
        ]
        return ", ".join(filter(None, said))
