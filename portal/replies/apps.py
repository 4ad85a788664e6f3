from __future__ import annotations

from django.apps import AppConfig


class RepliesConfig(AppConfig):
    name = "portal.replies"
    label = "replies"
