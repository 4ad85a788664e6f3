"""The lane plan of a practice: themes, and who swims in which lane."""

from __future__ import annotations

import uuid
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from portal.people.access import Actor
from portal.people.models import Squad, Swimmer, User
from portal.technique.models import Checkpoint, Drill, Fault, Stroke

MOST_LANES = 10
MOST_SEATS = 12


class PlanQuerySet(models.QuerySet["Plan"]):
    def visible_to(self, actor: Actor) -> Self:
        return self.filter(actor.staff_filter("squad"))


class Plan(models.Model):
    """One squad's practice on one day. A proposal until somebody keeps it."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="lane_plans")
    date = models.DateField(_("date"))
    starts = models.TimeField(_("from"), null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(
        _("minutes"),
        null=True,
        blank=True,
        validators=[MinValueValidator(5), MaxValueValidator(300)],
    )
    stroke = models.CharField(_("stroke"), max_length=8, choices=Stroke.choices, blank=True)
    lane_count = models.PositiveSmallIntegerField(
        _("lanes"), default=6, validators=[MinValueValidator(1), MaxValueValidator(MOST_LANES)]
    )
    seats = models.PositiveSmallIntegerField(
        _("swimmers in a lane"),
        default=4,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_SEATS)],
    )
    proposed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    proposed_at = models.DateTimeField()
    kept_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    kept_at = models.DateTimeField(null=True, blank=True)

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["-date", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "date"], name="one_lane_plan_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.squad} {self.date}"

    @property
    def stroke_word(self) -> str:
        return str(Stroke(self.stroke).label) if self.stroke else str(_("all strokes"))


class LaneQuerySet(models.QuerySet["Lane"]):
    def visible_to(self, actor: Actor) -> Self:
        return self.filter(actor.staff_filter("plan__squad"))


class Lane(models.Model):
    """What one lane works on; without a checkpoint it is a lane like any other."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="lanes")
    number = models.PositiveSmallIntegerField()
    stroke = models.CharField(max_length=8, choices=Stroke.choices, blank=True)
    checkpoint = models.ForeignKey(
        Checkpoint, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    fault = models.ForeignKey(
        Fault, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    drill = models.ForeignKey(
        Drill, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    title = models.CharField(
        _("name"), max_length=80, blank=True, help_text="If it is not to be the checkpoint's."
    )
    dose = models.CharField(_("dose"), max_length=40, blank=True)
    is_held = models.BooleanField(default=False)

    objects = LaneQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["plan", "number"], name="one_lane_a_number")]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        return self.title or (self.checkpoint.name if self.checkpoint else str(_("Free lane")))

    @property
    def theme(self) -> tuple[str, int] | None:
        """Stroke and checkpoint; the items of both are what is practised here."""
        return (self.stroke, self.checkpoint_id) if self.checkpoint_id else None

    @property
    def theme_value(self) -> str:
        """As a form names it."""
        return f"{self.stroke} {self.checkpoint_id}" if self.checkpoint_id else ""


class Seat(models.Model):
    """A swimmer in a lane. Whoever has no row is not seated."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="places")
    lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="places")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="+")
    is_held = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "swimmer"], name="one_seat_a_practice")
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} in {self.lane}"
