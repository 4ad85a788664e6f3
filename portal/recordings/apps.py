from __future__ import annotations

from django.apps import AppConfig


class RecordingsConfig(AppConfig):
    name = "portal.recordings"
    label = "recordings"
