from __future__ import annotations

from django.apps import AppConfig


class TechniqueConfig(AppConfig):
    name = "portal.technique"
    label = "technique"
