from __future__ import annotations

from django.apps import AppConfig


class PoolsideConfig(AppConfig):
    name = "portal.poolside"
    label = "poolside"
