from __future__ import annotations

from django.apps import AppConfig


class OpennessConfig(AppConfig):
    name = "portal.openness"
    label = "openness"
