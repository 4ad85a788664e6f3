from __future__ import annotations

from django.apps import AppConfig


class ItemsConfig(AppConfig):
    name = "portal.items"
    label = "items"
