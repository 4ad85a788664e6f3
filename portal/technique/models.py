"""The shared words of a squad, loaded from the files in `data/`. A slug is for ever."""

from __future__ import annotations

import uuid
from typing import Self, TypeVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from portal.people.models import Club, Squad


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
        """What everybody has; a club's own words are asked for by `of_club`."""
        return self.filter(is_retired=False, club=None)

    def of_club(self, club: Club | None) -> Self:
        return self.filter(Q(club=None) | Q(club=club), is_retired=False)

    def shared(self) -> Self:
        """Those of the files, retired ones too."""
        return self.filter(club=None)

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
    because = models.CharField(max_length=160, blank=True, help_text="Why it was retired.")
    split_into = models.JSONField(
        default=list, blank=True, help_text="Slugs that take over; what was said before stays here."
    )
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="absorbed"
    )
    club = models.ForeignKey(
        Club,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="+",
        help_text="Whose own word it is; empty for everybody's.",
    )

    class Meta:
        abstract = True
        ordering = ["order"]

    def __str__(self) -> str:
        return self.name

    @property
    def stroke_slugs(self) -> list[str]:
        return self.strokes.split()

    @property
    def phase_word(self) -> str:
        return str(Phase(self.phase).label) if self.phase in Phase.values else self.phase

    @property
    def standing(self) -> Term:
        """What goes by another slug since it was merged; a merge never points at another."""
        return self.merged_into or self


class Edition(models.Model):
    """A row for each load that changed a word; the newest one counts.

    Whoever keeps something made of the words keeps its stamp, and sees when it is old.
    """

    number = models.PositiveIntegerField(unique=True, default=1)
    stamp = models.UUIDField(default=uuid.uuid4)
    loaded_at = models.DateTimeField(null=True)
    counts = models.JSONField(
        default=dict, help_text="How many terms were added, changed, retired."
    )

    class Meta:
        ordering = ["-number"]

    def __str__(self) -> str:
        return f"edition {self.number}"


class Equipment(models.Model):
    """A thing to swim with, and what to beware of with it."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    text = models.TextField()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Caution(models.Model):
    """What to beware of, shown with every drill and fault that names it."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    text = models.TextField()
    published = models.JSONField(default=list, blank=True)

    def __str__(self) -> str:
        return self.name


class Drill(Term):
    how = models.TextField()
    dose = models.CharField(max_length=40, help_text="A usual amount, such as 4 x 25.")
    equipment = models.CharField(max_length=40, blank=True, help_text="As a swimmer reads it.")
    things = models.ManyToManyField(Equipment, blank=True, related_name="drills")
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
    applies = models.CharField(max_length=120, blank=True, help_text="Where in a race it holds.")
    differs = models.TextField(blank=True, help_text="What the books say differently.")
    views = models.CharField(max_length=120, blank=True, help_text="One of them makes it sure.")
    picture = models.CharField(
        max_length=160, blank=True, help_text="What else has to be in the picture."
    )
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
    published = models.JSONField(
        default=list, blank=True, help_text="What papers say of it; all else is common practice."
    )
    drills = models.ManyToManyField(Drill, blank=True)
    rules = models.ManyToManyField(Rule, blank=True)
    cautions = models.ManyToManyField(Caution, blank=True)

    objects = TermQuerySet["Fault"].as_manager()


class RuleBook(models.TextChoices):
    WORLD = "World Aquatics", "World Aquatics"
    USA = "USA Swimming", "USA Swimming"
    SCHOOLS = "NFHS", "NFHS"
    MASTERS = "U.S. Masters Swimming", "U.S. Masters Swimming"


class Vocabulary(models.Model):
    """What a club has made of the words: one row a club, from its first change on."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.OneToOneField(Club, on_delete=models.CASCADE, related_name="vocabulary")
    rule_book = models.CharField(
        _("rule book"), max_length=40, choices=RuleBook.choices, default=RuleBook.WORLD
    )
    stamp = models.UUIDField(default=uuid.uuid4, help_text="A new one with each change.")

    def __str__(self) -> str:
        return str(self.club)


class Wording(models.Model):
    """What a club calls a shared term, says with it, or leaves out. Slugs last, so it names one."""

    class Table(models.TextChoices):
        CHECKPOINT = "checkpoints", _("checkpoint")
        FAULT = "faults", _("fault")
        DRILL = "drills", _("drill")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="wordings")
    table = models.CharField(max_length=12, choices=Table.choices)
    slug = models.SlugField(max_length=60)
    name = models.CharField(_("our name for it"), max_length=80, blank=True)
    cue = models.CharField(_("our cue"), max_length=160, blank=True)
    cue_young = models.CharField(_("our cue for the young"), max_length=160, blank=True)
    drills = models.JSONField(default=list, blank=True, help_text="Slugs offered before others.")
    is_hidden = models.BooleanField(_("not offered"), default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["club", "table", "slug"], name="one_wording_a_term")
        ]

    def __str__(self) -> str:
        return f"{self.club}: {self.slug}"


class MonthList(models.Model):
    """The few checkpoints on which a squad works in one month."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="month_lists")
    month = models.DateField(help_text="Its first day.")
    slugs = models.JSONField(default=list)

    class Meta:
        ordering = ["-month"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "month"], name="one_list_a_squad_and_month"),
            models.CheckConstraint(condition=Q(month__day=1), name="a_month_begins_on_the_first"),
        ]

    def __str__(self) -> str:
        return f"{self.squad}, {self.month:%Y-%m}"
