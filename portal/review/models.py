"""A coach's comments on a swimmer's clips of one session, from draft to published."""

from __future__ import annotations

import uuid
from typing import Self

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from portal.items.models import Verdict
from portal.people.access import Actor, trained_by
from portal.people.models import Swimmer, User
from portal.recordings.models import Clip, Session
from portal.technique.models import Checkpoint, Drill, Fault, Stroke


class ReviewQuerySet(models.QuerySet["Review"]):
    def visible_to(self, actor: Actor) -> Self:
        """Staff see reviews of their squads; families, second adults, officers and the coaches of
        a swimmer's squad of today see the published ones."""
        readers = (
            Q(swimmer__in=actor.family_ids)
            | Q(swimmer__in=trained_by(actor))
            | actor.along_filter("session__squad")
        )
        return self.filter(
            actor.staff_filter("session__squad", swimmer="swimmer")
            | Q(readers, state=Review.State.PUBLISHED)
        )

    def published(self) -> Self:
        return self.filter(state=Review.State.PUBLISHED)


class Review(models.Model):
    class State(models.TextChoices):
        DRAFT = "draft", _("draft")
        CHECKED = "checked", _("checked")
        PUBLISHED = "published", _("published")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="reviews")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="reviews")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    focus = models.ForeignKey(
        "Comment", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    publishings = models.PositiveIntegerField(default=0, help_text="How often it went out.")
    first_out_at = models.DateTimeField(
        null=True, blank=True, help_text="What was changed later is marked as corrected."
    )
    handed_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    handed_at = models.DateTimeField(
        null=True, blank=True, help_text="A draft that somebody asked a coach to check."
    )
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = ReviewQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["session", "swimmer"], name="one_review_a_session")
        ]

    def __str__(self) -> str:
        return f"{self.swimmer}, {self.session}"

    @property
    def is_corrected(self) -> bool:
        """It is out, and has been taken back and sent out again since it first was."""
        return self.state == self.State.PUBLISHED and self.publishings > 1


class CommentQuerySet(models.QuerySet["Comment"]):
    def kept(self) -> Self:
        return self.filter(dropped_at=None)

    def in_reading_order(self) -> Self:
        # Databases do not agree on where nothing stands: here, notes without film come first.
        filmed = F("clip__recording__uploaded_at").asc(nulls_first=True)
        return self.order_by(filmed, "clip__recording_id", "frame", "id")


class Comment(models.Model):
    """What a coach says at a moment of a clip, or without film about a session.

    It stands in the review of each swimmer it is for. Tags may be missing while it is a draft.
    """

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="comments")
    clip = models.ForeignKey(
        Clip, on_delete=models.CASCADE, null=True, blank=True, related_name="comments"
    )
    reviews = models.ManyToManyField(Review, related_name="comments")
    frame = models.PositiveIntegerField(
        null=True, blank=True, help_text="The recording's frame number."
    )
    last_frame = models.PositiveIntegerField(
        null=True, blank=True, help_text="Set when the moment is a stretch."
    )
    verdict = models.CharField(max_length=10, choices=Verdict.choices)
    checkpoint = models.ForeignKey(
        Checkpoint, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    fault = models.ForeignKey(
        Fault, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    words = models.TextField(blank=True)
    staff_note = models.TextField(blank=True, help_text="For staff alone: it never goes out.")
    stroke = models.CharField(
        max_length=8, choices=Stroke.choices, blank=True, help_text="Of a note without film."
    )
    cue = models.CharField(max_length=160, blank=True)
    drill = models.ForeignKey(
        Drill, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    dose = models.CharField(max_length=40, blank=True)
    author = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    dropped_at = models.DateTimeField(null=True, blank=True)
    still = models.FileField(upload_to="stills", max_length=200, blank=True)
    drawing = models.JSONField(
        null=True, blank=True, help_text="Chalk on its frame; the format is in chalk.py."
    )

    objects = CommentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(clip=None, frame=None) | Q(clip__isnull=False, frame__isnull=False),
                name="a_moment_needs_a_clip",
            ),
            models.CheckConstraint(
                condition=Q(last_frame=None) | Q(last_frame__gt=F("frame")),
                name="a_stretch_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=Q(drawing__isnull=True) | Q(clip__isnull=False),
                name="a_drawing_needs_a_clip",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def was_corrected(self, review: Review) -> bool:
        """Changed or added after readers had the review for the first time."""
        return review.first_out_at is not None and self.changed_at > review.first_out_at

    @property
    def tag(self) -> Fault | Checkpoint | None:
        """Praise tags a checkpoint, a correction a fault."""
        return self.checkpoint if self.verdict == Verdict.GOOD else self.fault

    @property
    def verdict_word(self) -> str:
        return str(Verdict(self.verdict).label)

    @property
    def title(self) -> str:
        """The good form: what to keep doing, or what to do instead."""
        point = self.checkpoint or (self.fault.checkpoint if self.fault else None)
        return point.name if point else str(_("no tag yet"))


class MarkQuerySet(models.QuerySet["Mark"]):
    def standing(self) -> Self:
        return self.filter(lifted_at=None)


class Mark(models.Model):
    """A moment of a clip that figures are worked out from. For staff: it goes nowhere else."""

    class Kind(models.TextChoices):
        COMING = "coming", _("head passes, to the wall")
        TOUCH = "touch", _("wall touched")
        LEFT = "left", _("feet leave the wall")
        PULL = "pull", _("pull-down begins")
        DOLPHIN = "dolphin", _("dolphin kick")
        KICK = "kick", _("breaststroke kick begins")
        BREAKOUT = "breakout", _("head breaks the surface")
        ENTRY = "entry", _("hand enters")
        GOING = "going", _("head passes, from the wall")
        TOES = "toes", _("toes leave the block")

    code = models.UUIDField(default=uuid.uuid4, unique=True)
    clip = models.ForeignKey(Clip, on_delete=models.CASCADE, related_name="marks")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    frame = models.PositiveIntegerField(help_text="The recording's frame number.")
    number = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="Which cycle or kick; how many metres from the wall.",
    )
    set_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)

    objects = MarkQuerySet.as_manager()

    class Meta:
        ordering = ["frame", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["clip", "kind", "frame"],
                condition=Q(lifted_at=None),
                name="one_mark_of_a_kind_a_frame",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.frame}"
