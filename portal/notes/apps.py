from __future__ import annotations

from django.apps import AppConfig


class NotesConfig(AppConfig):
    name = "portal.notes"
    label = "notes"
