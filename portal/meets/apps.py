from __future__ import annotations

from django.apps import AppConfig


class MeetsConfig(AppConfig):
    name = "portal.meets"
    label = "meets"
