from __future__ import annotations

from django.apps import AppConfig


class DigestsConfig(AppConfig):
    name = "portal.digests"
    label = "digests"
