"""What was seen of a swimmer, session by session. Observations are the only truth.

Only `observing` and `rebuilding` write here: they keep the summaries in step.
"""

from __future__ import annotations

import uuid
from typing import Self

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from portal.items.recurrence import OPEN, State
from portal.people.models import Swimmer, User
from portal.recordings.models import Clip, Session
from portal.technique.models import Checkpoint, Fault, Stroke


class Verdict(models.TextChoices):
    GOOD = "good", _("good")
    WORK_ON = "work on", _("work on")
    NOT_LEGAL = "not legal", _("not legal")


class Observation(models.Model):
    """One verdict on one checkpoint of one swimmer in one session, as published.

    What it came from stands as codes, since comments live on a floor above. Praise of a checkpoint
    is a clean look at all its faults; the open items check alone also knows praise that names a
    fault, and is a clean look at that one only.
    """

    class Source(models.TextChoices):
        COMMENT = "comment", _("comment on a clip")
        DECK = "deck note", _("note without film")
        CHECK = "check", _("open items check")

    # The index by swimmer below begins with it.
    swimmer = models.ForeignKey(
        Swimmer, on_delete=models.CASCADE, related_name="observations", db_index=False
    )
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="observations")
    date = models.DateField(help_text="The session's local date.")
    stroke = models.CharField(max_length=8, choices=Stroke.choices)
    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.PROTECT, related_name="+")
    fault = models.ForeignKey(
        Fault, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    verdict = models.CharField(max_length=10, choices=Verdict.choices)
    source = models.CharField(max_length=10, choices=Source.choices)
    clip = models.ForeignKey(
        Clip, on_delete=models.SET_NULL, null=True, blank=True, related_name="observations"
    )
    coach = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    review_code = models.UUIDField()
    comment_code = models.UUIDField(default=uuid.uuid4)
    at = models.DateTimeField()
    overruled_at = models.DateTimeField(
        null=True, blank=True, help_text="Two coaches saw it differently, and the other counts."
    )

    class Meta:
        ordering = ["date", "id"]
        indexes = [
            models.Index(fields=["swimmer", "stroke", "date"], name="observation_by_swimmer"),
            models.Index(fields=["review_code"], name="observation_by_review"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["review_code", "comment_code"], name="one_observation_a_comment"
            ),
            models.CheckConstraint(
                condition=Q(verdict="good") | Q(fault__isnull=False),
                name="a_correction_names_a_fault",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} {self.date} {self.checkpoint}: {self.verdict}"


class ItemSummaryQuerySet(models.QuerySet["ItemSummary"]):
    def still_open(self) -> Self:
        return self.filter(state__in=OPEN)


class ItemSummary(models.Model):
    """How an item of a swimmer stands: worked out of the observations, and out of nothing else.

    It may be thrown away at any time. `fault` is empty where a checkpoint was only ever praised.
    What changes by waiting alone, such as not having been seen lately, is not kept.
    """

    # Only the indexes that somebody asks: each is written with every publishing.
    swimmer = models.ForeignKey(
        Swimmer, on_delete=models.CASCADE, related_name="items", db_index=False
    )
    stroke = models.CharField(max_length=8, choices=Stroke.choices)
    checkpoint = models.ForeignKey(
        Checkpoint, on_delete=models.CASCADE, related_name="+", db_index=False
    )
    fault = models.ForeignKey(
        Fault, on_delete=models.CASCADE, null=True, blank=True, related_name="+", db_index=False
    )
    state = models.CharField(max_length=10, choices=[(state.value, state.value) for state in State])
    looks = models.PositiveIntegerField(help_text="Sessions in which somebody looked.")
    faulty = models.PositiveIntegerField(help_text="Looks in which the fault was seen.")
    clean_run = models.PositiveIntegerField()
    faulty_run = models.PositiveIntegerField()
    needed = models.PositiveSmallIntegerField(help_text="Clean looks in a row that make it fixed.")
    rate = models.FloatField(help_text="The recent share of faulty clips.")
    was_not_legal = models.BooleanField()
    has_returned = models.BooleanField()
    disputed = models.PositiveIntegerField(help_text="Clips that two coaches saw differently.")
    first_fault = models.DateField(null=True, blank=True)
    last_fault = models.DateField(null=True, blank=True)
    last_look = models.DateField(null=True, blank=True)
    last_session = models.BigIntegerField(null=True, blank=True, help_text="By its id.")

    objects = ItemSummaryQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["fault", "state"], name="summary_by_fault")]
        constraints = [
            models.UniqueConstraint(
                fields=["swimmer", "stroke", "checkpoint", "fault"], name="one_summary_an_item"
            ),
            models.UniqueConstraint(
                fields=["swimmer", "stroke", "checkpoint"],
                condition=Q(fault=None),
                name="one_summary_a_praised_point",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} {self.stroke} {self.fault or self.checkpoint}: {self.state}"


class CheckAnswer(models.Model):
    """What was said of one open item before a review went out.

    Answers wait here while the review is a draft; publishing makes observations of them. It also
    writes down what was not answered, so that it can be told how much of it usually is.
    """

    class Answer(models.TextChoices):
        STILL_THERE = "still there", _("still there")
        CLEAN = "clean", _("clean")
        COULD_NOT_SEE = "could not see", _("could not see")
        SAID = "said", _("said in a comment")
        NONE = "none", _("not answered")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    review_code = models.UUIDField()
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="+")
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="+")
    stroke = models.CharField(max_length=8, choices=Stroke.choices)
    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.CASCADE, related_name="+")
    fault = models.ForeignKey(Fault, on_delete=models.CASCADE, related_name="+")
    answer = models.CharField(max_length=13, choices=Answer.choices)
    answered_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["review_code", "stroke", "checkpoint", "fault"],
                name="one_answer_an_item_and_review",
            )
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} {self.stroke} {self.fault}: {self.answer}"
