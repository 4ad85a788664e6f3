"""What was filmed where, the copies made of it, and the clips cut from it."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from fractions import Fraction
from typing import Self

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from portal.people import consenting
from portal.people.access import Actor, trained_by
from portal.people.models import Club, Consent, Course, Squad, Swimmer, User
from portal.recordings.equipment import Equipment
from portal.recordings.timing import unpack_times
from portal.technique.models import Stroke


class View(models.TextChoices):
    SIDE_UNDER = "side-underwater", _("side, under water")
    FRONT_UNDER = "front-underwater", _("front, under water")
    REAR_UNDER = "rear-underwater", _("rear, under water")
    WALL_UNDER = "wall-underwater", _("wall, under water")
    SIDE = "side-deck", _("side, from the deck")
    FRONT = "front-deck", _("front, from the deck")
    REAR = "rear-deck", _("rear, from the deck")
    WALL = "wall-deck", _("wall, from the deck")
    ABOVE = "overhead", _("from above")
    BLOCK = "block", _("starting block")
    ENTRY = "entry-underwater", _("entry, under water")


class Effort(models.TextChoices):
    DRILL = "drill", _("drill")
    EASY = "easy", _("easy")
    PRACTICE = "practice", _("practice pace")
    RACE = "race", _("race pace")


class Pool(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="pools")
    name = models.CharField(_("name"), max_length=80)
    course = models.CharField(_("course"), max_length=8, choices=Course.choices)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="pool_name_once_a_club")
        ]

    def __str__(self) -> str:
        return self.name


class SessionQuerySet(models.QuerySet["Session"]):
    def visible_to(self, actor: Actor) -> Self:
        return self.filter(actor.staff_filter("squad"))


class Session(models.Model):
    """One practice, time trial, clinic or meet of one squad on one local date."""

    class Kind(models.TextChoices):
        PRACTICE = "practice", _("practice")
        TIME_TRIAL = "time trial", _("time trial")
        CLINIC = "clinic", _("clinic")
        MEET = "meet", _("meet")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    squad = models.ForeignKey(Squad, on_delete=models.PROTECT, related_name="sessions")
    pool = models.ForeignKey(Pool, on_delete=models.PROTECT, related_name="sessions")
    kind = models.CharField(_("kind"), max_length=12, choices=Kind.choices, default=Kind.PRACTICE)
    course = models.CharField(_("course"), max_length=8, choices=Course.choices)
    date = models.DateField(_("date"))
    theme = models.CharField(_("theme"), max_length=80, blank=True)
    film_order = models.JSONField(
        default=list, help_text="Ids of swimmers as the film list has them, which writes it here."
    )
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()

    objects = SessionQuerySet.as_manager()

    class Meta:
        ordering = ["-date", "-id"]

    def __str__(self) -> str:
        return f"{self.squad} {self.date}"

    # Django's own get_…_display makes every word of the list to find one.
    @property
    def kind_word(self) -> str:
        return str(Session.Kind(self.kind).label)

    @property
    def course_word(self) -> str:
        return str(Course(self.course).label)


class RecordingQuerySet(models.QuerySet["Recording"]):
    def visible_to(self, actor: Actor) -> Self:
        """That it is there; whether its pictures may be seen is asked in `watched_by`."""
        return self.filter(actor.staff_filter("session__squad"))

    def watched_by(self, actor: Actor) -> Self:
        """Whole, with all who swim in it: never by families, and by nobody as soon as somebody in
        it may not be filmed. What its own clips show is asked of each clip."""
        squad = "session__squad"
        clips = Clip.objects.filter(recording=OuterRef("pk"))
        officers = Q(**{f"{squad}__club__in": actor.protects})
        others = actor.staff_filter(squad) | Q(**{f"{squad}__club__in": actor.looks})
        hidden = Exists(clips.filter(hidden_at__isnull=False))
        return self.kept().filter(
            ~Exists(clips.filter(swimmers__in=_unfilmed(actor))),
            officers | Q(others, ~hidden, held_at=None),
        )

    def kept(self) -> Self:
        return self.filter(thrown_away_at=None)


class Recording(models.Model):
    """One file that somebody filmed. The row appears once the whole file is stored."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting to be made ready")
        READY = "ready", _("ready to sort")
        FAILED = "failed", _("cannot be used")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="recordings")
    name = models.CharField(_("name"), max_length=120, help_text="The file's own name.")
    view = models.CharField(_("view"), max_length=20, choices=View.choices, blank=True)
    filmed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField()
    original = models.FileField(upload_to="originals", max_length=200)
    size = models.PositiveBigIntegerField(help_text="Bytes.")
    sha256 = models.CharField(max_length=64)
    fingerprint = models.CharField(
        max_length=64, blank=True, help_text="See `uploading.fingerprint`; tells films apart early."
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    problem = models.CharField(max_length=300, blank=True)
    facts = models.JSONField(default=dict, help_text="What probing.probe() read.")
    filmed_rate = models.FloatField(
        null=True, blank=True, help_text="Frames a second while filming, as a person said."
    )
    strip = models.JSONField(
        default=dict, help_text="Filmstrip: step, columns, tile, count, is_early; and guesses."
    )
    not_to_be_shown = models.BooleanField(
        _("not to be shown"),
        default=False,
        help_text=_("Somebody without consent is in it: coaches look, families never see it."),
    )
    held_at = models.DateTimeField(
        null=True, blank=True, help_text="The welfare officer alone sees it."
    )
    thrown_away_at = models.DateTimeField(null=True, blank=True)
    original_went_at = models.DateTimeField(
        null=True, blank=True, help_text="The file is no longer kept; copies and clips are."
    )

    objects = RecordingQuerySet.as_manager()

    class Meta:
        ordering = ["uploaded_at", "id"]

    def __str__(self) -> str:
        return self.name

    @property
    def original_goes_on(self) -> date:
        """The first day on which the file as it was filmed may be dropped."""
        club = self.session.squad.club
        return club.day(self.uploaded_at + timedelta(days=club.raw_days))


class ArrivalQuerySet(models.QuerySet["Arrival"]):
    def visible_to(self, actor: Actor) -> Self:
        """One's own, as long as one sees its session."""
        return self.filter(actor.staff_filter("session__squad"), sent_by=actor.user)


class Arrival(models.Model):
    """A film on its way in, piece by piece. How far it is the part file alone says."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="arrivals")
    sent_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=120)
    length = models.PositiveBigIntegerField(help_text="Bytes, as announced.")
    said = models.TextField(help_text="Upload-Metadata as it came.")
    fingerprint = models.CharField(max_length=64, blank=True, help_text="As the sender says.")
    not_to_be_shown = models.BooleanField(default=False)
    began_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    recording = models.OneToOneField(
        Recording, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )

    objects = ArrivalQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name


class ClipQuerySet(models.QuerySet["Clip"]):
    def visible_to(self, actor: Actor) -> Self:
        """Whose pictures this person may see.

        Nobody sees a clip of a swimmer who may not be filmed, whoever else is in it. What is
        hidden or held the welfare officer alone sees. Staff see their squad's, without those who
        have left the club; others see what a published review shows them.
        """
        squad = "recording__session__squad"
        officers = Q(**{f"{squad}__club__in": actor.protects})
        looks = Q(**{f"{squad}__club__in": actor.looks})
        coached = Q(**{f"{squad}__in": actor.coaches | actor.assists})
        headed = Q(**{f"{squad}__club__in": actor.heads})
        left = Swimmer.objects.filter(clips=OuterRef("pk"), left_on__lte=actor.today)
        staff = headed | Q(coached, ~Exists(left))
        return (
            self.kept()
            .filter(recording__thrown_away_at=None)
            .filter(~Exists(_unfilmed(actor).filter(swimmer__clips=OuterRef("pk"))))
            .filter(
                officers
                | Q(
                    staff | looks | Q(id__in=_shown_to(actor)),
                    hidden_at=None,
                    recording__held_at=None,
                )
            )
        )

    def kept(self) -> Self:
        return self.filter(removed_at=None)


class Clip(models.Model):
    """A stretch of a recording: marks only, frames keep the numbers of the recording."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    recording = models.ForeignKey(Recording, on_delete=models.CASCADE, related_name="clips")
    first_frame = models.PositiveIntegerField()
    last_frame = models.PositiveIntegerField(help_text="The last frame shown, not one after it.")
    swimmers = models.ManyToManyField(Swimmer, related_name="clips")
    stroke = models.CharField(_("stroke"), max_length=8, choices=Stroke.choices)
    view = models.CharField(_("view"), max_length=20, choices=View.choices)
    effort = models.CharField(_("effort"), max_length=10, choices=Effort.choices)
    equipment = models.CharField(
        _("equipment"), max_length=10, choices=Equipment.choices, default=Equipment.NONE
    )
    cut_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    cut_at = models.DateTimeField()
    hidden_at = models.DateTimeField(
        null=True, blank=True, help_text="Somebody in it, or their family, asked for that."
    )
    hidden_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = ClipQuerySet.as_manager()

    class Meta:
        ordering = ["recording", "first_frame"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_frame__gt=F("first_frame")), name="clip_out_after_in"
            )
        ]

    def __str__(self) -> str:
        return f"{self.recording} {self.first_frame}-{self.last_frame}"

    @property
    def frame_count(self) -> int:
        return self.last_frame - self.first_frame + 1

    # As in Session: a page has many clips, and the lists are long.
    @property
    def stroke_word(self) -> str:
        return str(Stroke(self.stroke).label)

    @property
    def view_word(self) -> str:
        return str(View(self.view).label)

    @property
    def effort_word(self) -> str:
        return str(Effort(self.effort).label)

    @property
    def equipment_word(self) -> str:
        return "" if self.equipment == Equipment.NONE else str(Equipment(self.equipment).label)


class Showing(models.Model):
    """A clip lies open to a swimmer's family, as long as the row stands.

    A review's publishing writes it and taking back removes it: reviews live on a floor above,
    and who may see film must be answered here.
    """

    clip = models.ForeignKey(Clip, on_delete=models.CASCADE, related_name="showings")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="showings")
    since = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["clip", "swimmer"], name="shown_once_to_a_family")
        ]

    def __str__(self) -> str:
        return f"{self.clip} to {self.swimmer}"


def _unfilmed(actor: Actor) -> models.QuerySet[Consent, int]:
    return consenting.refused(Consent.Purpose.FILM, on=actor.today)


def _shown_to(actor: Actor) -> models.QuerySet[Showing, int]:
    """Clips open to this person as family, second adult or coach of a swimmer's squad of today.
    Consent is asked anew each time, of everybody in the clip, so that a no hides every byte at
    the next request."""
    withheld = Clip.objects.filter(
        swimmers__in=consenting.withheld(Consent.Purpose.SHOW, on=actor.today)
    )
    return (
        Showing.objects.filter(
            Q(swimmer__in=actor.family_ids)
            | Q(swimmer__in=trained_by(actor))
            | Q(clip__recording__session__squad__in=actor.seconds)
        )
        .filter(clip__recording__not_to_be_shown=False)
        .exclude(clip__in=withheld)
        .values_list("clip_id", flat=True)
    )


class RenditionQuerySet(models.QuerySet["Rendition"]):
    def visible_to(self, actor: Actor) -> Self:
        clips = Clip.objects.visible_to(actor)
        whole = Recording.objects.watched_by(actor)
        return self.filter(Q(clip__in=clips) | Q(clip=None, recording__in=whole))


class Rendition(models.Model):
    """A copy for the browser. Its frame k is the recording's frame `first_frame + k`."""

    class Kind(models.TextChoices):
        LIGHT = "light", _("light copy")
        FULL = "full", _("full copy")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    recording = models.ForeignKey(Recording, on_delete=models.CASCADE, related_name="renditions")
    clip = models.ForeignKey(
        Clip, on_delete=models.CASCADE, null=True, blank=True, related_name="renditions"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    file = models.FileField(upload_to="copies", max_length=200)
    size = models.PositiveBigIntegerField(help_text="Bytes.")
    sha256 = models.CharField(max_length=64, help_text="Also the strong ETag.")
    width = models.PositiveIntegerField(help_text="Pixels as shown.")
    height = models.PositiveIntegerField()
    first_frame = models.PositiveIntegerField(default=0)
    frame_count = models.PositiveIntegerField()
    timescale = models.PositiveIntegerField(help_text="Ticks a second.")
    packed_times = models.BinaryField(help_text="See `times`.")
    made_at = models.DateTimeField()

    objects = RenditionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recording", "kind"],
                condition=Q(clip=None),
                name="one_whole_copy_of_a_kind",
            ),
            models.UniqueConstraint(fields=["clip", "kind"], name="one_clip_copy_of_a_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.recording}"

    @property
    def times(self) -> list[int]:
        """Presentation time of each frame in ticks of 1/timescale s, rising."""
        return unpack_times(bytes(self.packed_times))

    def seconds(self, frame: int) -> Fraction:
        """Presentation time in seconds, in this copy, of the recording's frame `frame`."""
        return Fraction(self.times[frame - self.first_frame], self.timescale)
