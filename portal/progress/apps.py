from __future__ import annotations

from django.apps import AppConfig


class ProgressConfig(AppConfig):
    name = "portal.progress"
    label = "progress"
