"""Concerns that were told, and what was done about them."""

from __future__ import annotations

import uuid
from typing import Self

from django.db import models
from django.utils.crypto import get_random_string
from django.utils.translation import gettext_lazy as _

from portal.people import confiding
from portal.people.access import Actor
from portal.people.models import Club, Membership, User

# Without letters and digits that are taken for each other when read out.
NUMBER_SIGNS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
NUMBER_LENGTH = 6
WORDS = 8000


def new_number() -> str:
    """Drawn by lot: counted ones would tell how many concerns there are."""
    return get_random_string(NUMBER_LENGTH, NUMBER_SIGNS)


class CaseQuerySet(models.QuerySet["Case"]):
    def visible_to(self, actor: Actor) -> Self:
        """Its recipients alone; whoever coaches there or runs the portal is none."""
        officer = confiding.hears(actor, role=Membership.Role.WELFARE)
        second = confiding.hears(actor, role=Membership.Role.SECOND_RECIPIENT)
        return self.filter(
            models.Q(reader=Case.Reader.OFFICER, club__in=officer)
            | models.Q(reader=Case.Reader.SECOND, club__in=second)
        )


class Case(models.Model):
    """Somebody told of a concern. What they wrote is never changed and stands on no other page."""

    class Reader(models.TextChoices):
        OFFICER = "officer", _("welfare officer")
        SECOND = "second", _("second recipient")

    class Subject(models.TextChoices):
        CHILD = "child", _("about a child")
        PERSON = "person", _("about a grown-up, or somebody else")

    class State(models.TextChoices):
        NEW = "new", _("new")
        LOOKED_INTO = "looked into", _("being looked into")
        CLOSED = "closed", _("closed")

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    number = models.CharField(max_length=NUMBER_LENGTH, unique=True, default=new_number)
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="cases")
    reader = models.CharField(max_length=8, choices=Reader.choices)
    subject = models.CharField(max_length=8, choices=Subject.choices)
    about = models.CharField(max_length=200, blank=True)
    words = models.TextField()
    may_answer = models.BooleanField()
    told_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=State.choices, default=State.NEW)

    objects = CaseQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["club", "-at"], name="case_newest")]

    def __str__(self) -> str:
        return self.number


class Line(models.Model):
    """What a recipient noted or did in a case. Lines are only added."""

    class What(models.TextChoices):
        NOTE = "note", _("note")
        NEW = "new", _("is new again")
        LOOKED_INTO = "looked into", _("is being looked into")
        CLOSED = "closed", _("is closed")
        HELD = "held", _("film held")
        LET_GO = "let go", _("film let go")
        SUSPENDED = "suspended", _("access suspended")
        LET_BACK = "let back", _("access given back")

    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="lines")
    what = models.CharField(max_length=12, choices=What.choices)
    words = models.TextField(blank=True)
    thing_code = models.UUIDField(null=True, help_text="Of the recording or the suspension.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.what} in {self.case}"
