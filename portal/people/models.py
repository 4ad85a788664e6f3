"""Clubs, the people in them, and what binds them to a squad or a child, with dates."""

from __future__ import annotations

import uuid
from datetime import date, time
from typing import ClassVar, Self, TypeVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils.translation import gettext_lazy as _

RowT = TypeVar("RowT", bound=models.Model)


def short_name(name: str) -> str:
    """What people call each other by the pool."""
    return name.split(" ", 1)[0]


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, *, name: str, password: str | None = None) -> User:
        user = self.model(email=email.strip().lower(), name=name)
        user.set_password(password)
        user.save()
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser, PermissionsMixin):
    """Somebody who can sign in. The address is the name to sign in with, in small letters."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = models.EmailField(_("e-mail"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return short_name(self.name)


class Course(models.TextChoices):
    SHORT = "25 m", _("25 m")
    LONG = "50 m", _("50 m")
    YARDS = "25 yd", _("25 yd")


class Weekday(models.IntegerChoices):
    """As ISO counts them."""

    MONDAY = 1, _("Monday")
    TUESDAY = 2, _("Tuesday")
    WEDNESDAY = 3, _("Wednesday")
    THURSDAY = 4, _("Thursday")
    FRIDAY = 5, _("Friday")
    SATURDAY = 6, _("Saturday")
    SUNDAY = 7, _("Sunday")


# Nobody's telephone rings for the club at night; and hardly any clock changes by day.
DIGEST_TIMES = (time(8), time(20))


class Club(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(_("name"), max_length=120)
    zone = models.CharField(_("time zone"), max_length=60, default="Europe/London")
    course = models.CharField(_("course"), max_length=8, choices=Course.choices)
    is_demo = models.BooleanField(default=False)
    digest_weekday = models.PositiveSmallIntegerField(
        _("day of the weekly mail"), choices=Weekday.choices, default=Weekday.SUNDAY
    )
    digest_time = models.TimeField(
        _("time of the weekly mail"),
        default=time(18),
        validators=[MinValueValidator(DIGEST_TIMES[0]), MaxValueValidator(DIGEST_TIMES[1])],
        help_text=_("The club's own time, from 08:00 to 20:00."),
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(digest_weekday__range=(1, 7)), name="club_digest_on_a_weekday"
            ),
            models.CheckConstraint(
                condition=Q(digest_time__range=DIGEST_TIMES), name="club_digest_by_day"
            ),
        ]

    def __str__(self) -> str:
        return self.name


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
        """Full years; somebody born on 29 February turns a year older on 1 March."""
        return on.year - self.born.year - ((on.month, on.day) < (self.born.month, self.born.day))


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


class Guardianship(models.Model):
    """A parent or guardian of a swimmer. A barred one is treated as if there were none."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    guardian = models.ForeignKey(User, on_delete=models.CASCADE, related_name="guardianships")
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="guardianships")
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True)
    barred_from = models.DateField(null=True, blank=True)

    class GuardianshipQuerySet(DatedQuerySet["Guardianship"]):
        def on(self, day: date) -> Self:
            return super().on(day).filter(Q(barred_from=None) | Q(barred_from__gt=day))

    objects = GuardianshipQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.guardian} for {self.swimmer}"


class ConsentQuerySet(models.QuerySet["Consent"]):
    def standing(self, purpose: str) -> Self:
        """Each person's newest answer about each swimmer."""
        same = {name: OuterRef(name) for name in ("swimmer", "answered_by", "purpose")}
        later = Q(at__gt=OuterRef("at")) | Q(at=OuterRef("at"), id__gt=OuterRef("id"))
        return self.filter(purpose=purpose).exclude(Exists(Consent.objects.filter(later, **same)))


class Consent(models.Model):
    """One answer to one question about one swimmer; the newest answer of each person counts,
    and of several people's the strictest: see `consenting`."""

    class Purpose(models.TextChoices):
        FILM = "film", _("may be filmed")
        SHOW = "show", _("clips may be shown here")
        MAIL_STILLS = "mail stills", _("a picture may travel in mail")
        VOICE = "voice", _("clips may keep their sound")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    swimmer = models.ForeignKey(Swimmer, on_delete=models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=12, choices=Purpose.choices)
    is_given = models.BooleanField()
    answered_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = ConsentQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["swimmer", "purpose", "-at"], name="consent_newest")]

    def __str__(self) -> str:
        return f"{self.purpose}: {'yes' if self.is_given else 'no'}"
