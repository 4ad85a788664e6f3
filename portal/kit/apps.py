from __future__ import annotations

from django.apps import AppConfig
from django.core import checks

from portal.kit.checks import views_declare_access


class KitConfig(AppConfig):
    name = "portal.kit"
    label = "kit"

    def ready(self) -> None:
        checks.register(views_declare_access, checks.Tags.urls)
