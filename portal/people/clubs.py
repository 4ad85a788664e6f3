"""A club and what it has settled for itself."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


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


# Days for which a film is kept as it was filmed; more want a reason, and none is for ever.
RAW_DAYS, LEAST_RAW_DAYS, MOST_RAW_DAYS = 90, 7, 366
MOST_GIGABYTES = 1_000_000
# Nobody's telephone rings for the club at night; and hardly any clock changes by day.
DIGEST_TIMES = (time(8), time(20))


class Club(models.Model):
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(_("name"), max_length=120)
    zone = models.CharField(_("time zone"), max_length=60, default="Europe/London")
    course = models.CharField(_("course"), max_length=8, choices=Course.choices)
    is_demo = models.BooleanField(default=False)
    policy = models.TextField(
        _("policy on film and pictures"),
        blank=True,
        help_text=_("What families agree to, in your own words."),
    )
    policy_edition = models.CharField(_("edition of the policy"), max_length=40, blank=True)
    policy_reviewed_on = models.DateField(_("last reviewed on"), null=True, blank=True)
    shows_contacts = models.BooleanField(
        _("coaches see guardians’ addresses"),
        default=False,
        help_text=_("A swimmer’s own address is never shown to coaches."),
    )
    digest_weekday = models.PositiveSmallIntegerField(
        _("day of the weekly mail"), choices=Weekday.choices, default=Weekday.SUNDAY
    )
    digest_time = models.TimeField(
        _("time of the weekly mail"),
        default=time(18),
        validators=[MinValueValidator(DIGEST_TIMES[0]), MaxValueValidator(DIGEST_TIMES[1])],
        help_text=_("The club's own time, from 08:00 to 20:00."),
    )
    film_gigabytes = models.PositiveIntegerField(
        _("room for film, in gigabytes"),
        default=200,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_GIGABYTES)],
        help_text=_("All that was filmed, with its copies. When it is full nothing more comes in."),
    )
    raw_days = models.PositiveSmallIntegerField(
        _("days for which film is kept as it was filmed"),
        default=RAW_DAYS,
        validators=[MinValueValidator(LEAST_RAW_DAYS), MaxValueValidator(MOST_RAW_DAYS)],
        help_text=_("Clips and light copies stay when the original goes. Held film stays whole."),
    )
    raw_days_reason = models.CharField(
        _("why longer than 90 days"), max_length=200, blank=True, help_text=_("Families may ask.")
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(digest_weekday__range=(1, 7)), name="club_digest_on_a_weekday"
            ),
            models.CheckConstraint(
                condition=Q(digest_time__range=DIGEST_TIMES), name="club_digest_by_day"
            ),
            models.CheckConstraint(
                condition=Q(raw_days__lte=RAW_DAYS) | ~Q(raw_days_reason=""),
                name="club_says_why_film_is_kept_longer",
            ),
            models.CheckConstraint(
                condition=Q(raw_days__range=(LEAST_RAW_DAYS, MOST_RAW_DAYS)),
                name="club_keeps_film_for_a_while",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def day(self, at: datetime) -> date:
        """The date on the club's own calendar."""
        return at.astimezone(ZoneInfo(self.zone)).date()
