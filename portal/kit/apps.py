from __future__ import annotations

from django.apps import AppConfig


class KitConfig(AppConfig):
    name = "portal.kit"
    label = "kit"
