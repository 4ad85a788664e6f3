from __future__ import annotations

from django.apps import AppConfig


class RosterConfig(AppConfig):
    name = "portal.roster"
    label = "roster"
