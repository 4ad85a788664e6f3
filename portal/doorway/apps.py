from __future__ import annotations

from django.apps import AppConfig


class DoorwayConfig(AppConfig):
    name = "portal.doorway"
    label = "doorway"
