"""Meets, who is entered for what, and what officials disqualified."""

from __future__ import annotations

import uuid
from typing import Self

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from portal.meets.parsing import DISTANCES, LEGS, Event
from portal.people.access import Actor, trained_by
from portal.people.models import Club, Swimmer, User
from portal.technique.models import Rule, Stroke


class MeetQuerySet(models.QuerySet["Meet"]):
    def visible_to(self, actor: Actor) -> Self:
        """Staff of any squad of the club. Whose entries they see is asked of each entry."""
        squads = Q(club__squads__in=actor.coaches | actor.assists)
        return self.filter(squads | Q(club__in=actor.heads)).distinct()


class Meet(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="meets")
    name = models.CharField(_("name"), max_length=80)
    starts = models.DateField(_("first day"))
    ends = models.DateField(_("last day"), null=True, blank=True)
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    objects = MeetQuerySet.as_manager()

    class Meta:
        ordering = ["-starts", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends=None) | Q(ends__gte=F("starts")),
                name="a_meet_ends_after_it_starts",
            )
        ]

    def __str__(self) -> str:
        return self.name


class EntryQuerySet(models.QuerySet["Entry"]):
    def visible_to(self, actor: Actor) -> Self:
        """Of swimmers whom this person trains today; the head coach sees all of the club."""
        own = Q(swimmer__in=trained_by(actor))
        return self.filter(own | Q(meet__club__in=actor.heads))


class Entry(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    meet = models.ForeignKey(Meet, on_delete=models.CASCADE, related_name="entries")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="entries")
    distance = models.PositiveSmallIntegerField(
        _("distance"), choices=[(distance, str(distance)) for distance in DISTANCES]
    )
    stroke = models.CharField(_("stroke"), max_length=8, choices=Stroke.choices)
    is_relay = models.BooleanField(_("relay"), default=False)

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["is_relay", "stroke", "distance", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["meet", "swimmer", "distance", "stroke", "is_relay"],
                name="entered_once_for_an_event",
            )
        ]

    def __str__(self) -> str:
        return f"{self.swimmer}, {self.event_word}"

    @property
    def event(self) -> Event:
        return Event(self.distance, self.stroke, self.is_relay)

    @property
    def event_word(self) -> str:
        stroke = str(Stroke(self.stroke).label)
        if self.is_relay:
            return str(_("%(legs)d x %(distance)d %(stroke)s relay")) % {
                "legs": LEGS,
                "distance": self.distance,
                "stroke": stroke,
            }
        return f"{self.distance} {stroke}"

    @property
    def strokes(self) -> tuple[str, ...]:
        """What is swum in it."""
        if self.stroke == Stroke.MEDLEY:
            return (Stroke.FLY, Stroke.BACK, Stroke.BREAST, Stroke.FREE, Stroke.MEDLEY)
        return (self.stroke,)


class Disqualification(models.Model):
    """What an official's slip said of a race, as a coach copied it. The official's word stands;
    it changes no item."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    entry = models.ForeignKey(Entry, on_delete=models.CASCADE, related_name="disqualifications")
    rule = models.ForeignKey(
        Rule,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("rule"),
    )
    words = models.CharField(_("as the slip says it"), max_length=200, blank=True)
    noted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    noted_at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(rule__isnull=False) | ~Q(words=""), name="a_slip_says_something"
            )
        ]

    def __str__(self) -> str:
        return f"{self.entry}: {self.rule or self.words}"
