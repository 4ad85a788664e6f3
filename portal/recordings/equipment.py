"""What somebody swims with."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Equipment(models.TextChoices):
    """A pair is `several`."""

    NONE = "none", _("none")
    FINS = "fins", _("fins")
    PADDLES = "paddles", _("paddles")
    BUOY = "buoy", _("pull buoy")
    BOARD = "board", _("kickboard")
    SNORKEL = "snorkel", _("snorkel")
    PARACHUTE = "parachute", _("parachute")
    SEVERAL = "several", _("several")
