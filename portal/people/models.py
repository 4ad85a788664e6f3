"""Clubs, the people in them, and what binds them to a squad or a child, with dates."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Self, TypeVar

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from portal.people.accounts import User as User
from portal.people.ages import GROWN_UP, age, last_birthday
from portal.people.clubs import RAW_DAYS as RAW_DAYS
from portal.people.clubs import Club as Club
from portal.people.clubs import Course as Course
from portal.people.clubs import Weekday as Weekday

RowT = TypeVar("RowT", bound=models.Model)

LONGEST_LOOK = timedelta(minutes=60)


class Season(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="seasons")
    name = models.CharField(_("name"), max_length=60)
    starts = models.DateField(_("starts"))
    ends = models.DateField(_("ends"))

    class Meta:
        ordering = ["-starts"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends__gt=F("starts")), name="season_ends_after_it_starts"
            )
        ]

    def __str__(self) -> str:
        return self.name


class Squad(models.Model):
    """Swimmers who practise together. Without a second adult nothing of it is published."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="squads")
    name = models.CharField(_("name"), max_length=60)
    second_adult = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="openness_squads"
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="squad_name_once_a_club")
        ]

    def __str__(self) -> str:
        return self.name


class DatedQuerySet(models.QuerySet[RowT]):
    """Rows with a first day and, once they have ended, a day from which they hold no more."""

    def on(self, day: date) -> Self:
        return self.filter(Q(starts__lte=day) & (Q(ends=None) | Q(ends__gt=day)))


class Swimmer(models.Model):
    """A swimmer is not a user: most are children, and many never sign in themselves."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="swimmers")
    first_name = models.CharField(_("first name"), max_length=60)
    last_name = models.CharField(_("last name"), max_length=60)
    born = models.DateField(_("born"))
    user = models.OneToOneField(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="swimmer"
    )
    left_on = models.DateField(_("left the club on"), null=True, blank=True)

    class Meta:
        ordering = ["first_name", "last_name"]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        return f"{self.first_name} {self.last_name}"

    @property
    def initials(self) -> str:
        return f"{self.first_name[:1]}{self.last_name[:1]}".upper()

    def age(self, on: date) -> int:
        return age(self.born, on=on)


class SquadPlace(models.Model):
    """A swimmer's time in a squad."""

    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="places")
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="places")
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True)

    objects = DatedQuerySet["SquadPlace"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["swimmer", "squad"],
                condition=Q(ends=None),
                name="swimmer_once_in_a_squad",
            )
        ]

    def __str__(self) -> str:
        return f"{self.swimmer} in {self.squad}"


class Membership(models.Model):
    """What somebody does in a club, from a day and perhaps until a day."""

    class Role(models.TextChoices):
        HEAD_COACH = "head coach", _("head coach")
        COACH = "coach", _("coach")
        ASSISTANT = "assistant", _("assistant")
        WELFARE = "welfare officer", _("welfare officer")
        SECOND_RECIPIENT = "second recipient", _("second recipient of concerns")
        VOLUNTEER = "volunteer", _("volunteer")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="memberships")
    squad = models.ForeignKey(
        Squad, on_delete=models.CASCADE, null=True, blank=True, related_name="memberships"
    )
    role = models.CharField(max_length=20, choices=Role.choices)
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True)

    objects = DatedQuerySet["Membership"].as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=("coach", "assistant"), squad__isnull=False)
                | (~Q(role__in=("coach", "assistant")) & Q(squad__isnull=True)),
                name="membership_squad_fits_role",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.role}"


class Suspension(models.Model):
    """The welfare officer has shut somebody out of a club: as long as it stands, every tie of
    that person to the club is treated as if there were none."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="suspensions")
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="suspensions")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    lifted_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    lifted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "club"],
                condition=Q(lifted_at=None),
                name="suspended_once_from_a_club",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} from {self.club}"


class EmergencyLook(models.Model):
    """For a while the volunteer who runs the portal sees footage, for a reason that is told."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="emergency_looks")
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="emergency_looks")
    reason = models.CharField(_("reason"), max_length=300)
    at = models.DateTimeField()
    until = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="emergency_look_has_a_reason"),
            models.CheckConstraint(
                condition=Q(until__lte=F("at") + LONGEST_LOOK), name="emergency_look_is_short"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} into {self.club}"


class GuardianshipQuerySet(DatedQuerySet["Guardianship"]):
    def on(self, day: date) -> Self:
        """Those who may read on that day: known by their address, not barred, not suspended, and
        of a grown-up swimmer only with leave."""
        return self.named(day).filter(is_accepted=True)

    def named(self, day: date) -> Self:
        """The same, and whoever has not yet answered the club's invitation."""
        shut_out = Suspension.objects.filter(
            user=OuterRef("guardian"), club=OuterRef("swimmer__club"), lifted_at=None
        )
        is_child = Q(swimmer__born__gt=last_birthday(GROWN_UP, on=day))
        return (
            super()
            .on(day)
            .filter(Q(barred_from=None) | Q(barred_from__gt=day))
            .filter(is_child | Q(granted_on__lte=day))
            .exclude(Exists(shut_out))
        )


class Guardianship(models.Model):
    """A parent or guardian of a swimmer. A barred one is treated as if there were none."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    guardian = models.ForeignKey(User, on_delete=models.CASCADE, related_name="guardianships")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="guardianships")
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True)
    barred_from = models.DateField(null=True, blank=True)
    granted_on = models.DateField(
        null=True, blank=True, help_text="The grown-up swimmer lets them go on reading."
    )
    is_accepted = models.BooleanField(
        default=True, help_text="The invited have shown that they are meant; until then no sight."
    )
    called = models.CharField(
        max_length=120, blank=True, help_text="As the club names them, until they accept."
    )

    objects = GuardianshipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["guardian", "swimmer"],
                condition=Q(ends=None),
                name="guardian_once_of_a_swimmer",
            )
        ]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.swimmer}"

    @property
    def name(self) -> str:
        """What somebody's account says of them is for those whom they know."""
        return self.guardian.name if self.is_accepted else self.called


class ConsentQuerySet(models.QuerySet["Consent"]):
    def standing(self, purpose: str, *, on: date) -> Self:
        """Each person's newest answer about each swimmer, unless it has run out. From 18 on only
        what the swimmers said themselves."""
        lasting = Q(until=None) | Q(until__gt=on)
        is_child = Q(swimmer__born__gt=last_birthday(GROWN_UP, on=on))
        own = Q(answered_by=F("swimmer__user"))
        return self.filter(lasting, is_child | own, purpose=purpose, is_newest=True)


class Consent(models.Model):
    """One answer to one question about one swimmer; the newest answer of each person counts,
    and of several people's the strictest: see `consenting`."""

    class Purpose(models.TextChoices):
        FILM = "film", _("may be filmed")
        SHOW = "show", _("clips may be shown here")
        MAIL_STILLS = "mail stills", _("a picture may travel in mail")
        VOICE = "voice", _("clips may keep their sound")
        SIGN_IN = "sign in", _("may have a sign-in of their own")

    class Way(models.TextChoices):
        ONLINE = "online", _("here, signed in")
        PAPER = "paper", _("on paper")
        TOLD = "told", _("told to somebody of the club")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=12, choices=Purpose.choices)
    is_given = models.BooleanField()
    answered_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    is_newest = models.BooleanField(default=True, help_text="This person's newest on this question")
    until = models.DateField(null=True, blank=True, help_text="From this day it says nothing.")
    edition = models.CharField(max_length=40, blank=True, help_text="Of the club's policy, then.")
    way = models.CharField(max_length=8, choices=Way.choices, default=Way.ONLINE)
    recorded_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    signed_on = models.DateField(null=True, blank=True, help_text="The date on the paper.")

    objects = ConsentQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["swimmer", "purpose", "-at"], name="consent_newest")]
        constraints = [
            models.UniqueConstraint(
                fields=["swimmer", "purpose", "answered_by"],
                condition=Q(is_newest=True),
                name="one_newest_answer_each",
            ),
            models.CheckConstraint(
                condition=~Q(way="told", is_given=True), name="no_consent_by_hearsay"
            ),
            models.CheckConstraint(
                condition=Q(way="online", recorded_by=None)
                | ~Q(way="online") & Q(recorded_by__isnull=False),
                name="others_answers_are_recorded_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.purpose}: {'yes' if self.is_given else 'no'}"
