"""The shared words of a squad, loaded from the files in `data/`. A slug is for ever."""

from __future__ import annotations

import uuid
from typing import Self, TypeVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Stroke(models.TextChoices):
    FREE = "free", _("freestyle")
    BACK = "back", _("backstroke")
    BREAST = "breast", _("breaststroke")
    FLY = "fly", _("butterfly")
    MEDLEY = "im", _("medley")


class Phase(models.TextChoices):
    """The parts of a swim, in the order in which they come."""

    START = "start", _("start")
    PULLOUT = "pullout", _("underwater pullout")
    UNDERWATER = "underwater", _("underwater kicking")
    BREAKOUT = "breakout", _("breakout")
    BODY = "body-position", _("body position")
    PULL = "arm-pull", _("arm pull")
    RECOVERY = "recovery", _("recovery")
    KICK = "kick", _("kick")
    BREATH = "breathing-timing", _("breathing and timing")
    APPROACH = "turn-approach", _("turn approach")
    TURN = "turn", _("touch and rotation")
    PUSH_OFF = "push-off", _("push-off and streamline")
    FINISH = "finish", _("finish")
    RELAY = "relay", _("relay exchange")
    PACING = "pacing", _("pacing and stroke control")


TermT = TypeVar("TermT", bound=models.Model)


class TermQuerySet(models.QuerySet[TermT]):
    def current(self) -> Self:
        return self.filter(is_retired=False)

    def for_stroke(self, stroke: str) -> Self:
        """Terms of one stroke and those that hold for any stroke."""
        return self.filter(Q(strokes__contains=f" {stroke} ") | Q(strokes__contains=" any "))


class Term(models.Model):
    """What checkpoints, faults and drills share.

    `strokes` is a list of slugs with a space before and after each, so that both engines can
    look for one of them.
    """

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    strokes = models.CharField(max_length=80)
    phase = models.CharField(max_length=20, choices=Phase.choices)
    order = models.PositiveIntegerField(default=0, help_text="Place in the files.")
    is_retired = models.BooleanField(default=False)

    class Meta:
        abstract = True
        ordering = ["order"]

    def __str__(self) -> str:
        return self.name

    @property
    def stroke_slugs(self) -> list[str]:
        return self.strokes.split()


class Edition(models.Model):
    """One row, with a new stamp whenever a load has changed a word.

    Whoever keeps something made of the words keeps the stamp with it, and sees when it is old.
    """

    stamp = models.UUIDField(default=uuid.uuid4)

    def __str__(self) -> str:
        return str(self.stamp)


class Caution(models.Model):
    """What to beware of, shown with every drill and fault that names it."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    text = models.TextField()

    def __str__(self) -> str:
        return self.name


class Drill(Term):
    how = models.TextField()
    dose = models.CharField(max_length=40, help_text="A usual amount, such as 4 x 25.")
    equipment = models.CharField(max_length=40, blank=True)
    cautions = models.ManyToManyField(Caution, blank=True)

    objects = TermQuerySet["Drill"].as_manager()


class Checkpoint(Term):
    """What good looks like."""

    good = models.TextField()

    objects = TermQuerySet["Checkpoint"].as_manager()


class Rule(Term):
    """An article of the sport's rules in our words, with where it stands and how sure we are."""

    paraphrase = models.TextField()
    seen_when_broken = models.TextField()
    citations = models.JSONField(
        default=list, help_text="One entry a book: book, article, edition, source, certainty."
    )

    objects = TermQuerySet["Rule"].as_manager()


class Fault(Term):
    """How a checkpoint goes wrong."""

    class Severity(models.TextChoices):
        MAJOR = "major", _("major")
        MODERATE = "moderate", _("moderate")
        MINOR = "minor", _("minor")

    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.PROTECT, related_name="faults")
    severity = models.CharField(max_length=10, choices=Severity.choices)
    views = models.CharField(max_length=120, help_text="Camera views that can show it.")
    see = models.TextField()
    cost = models.TextField()
    cue = models.CharField(max_length=160)
    cue_young = models.CharField(max_length=160)
    also = models.JSONField(
        default=list, blank=True, help_text="What people say on the deck when they mean it."
    )
    drills = models.ManyToManyField(Drill, blank=True)
    rules = models.ManyToManyField(Rule, blank=True)
    cautions = models.ManyToManyField(Caution, blank=True)

    objects = TermQuerySet["Fault"].as_manager()
