from __future__ import annotations

from django.apps import AppConfig


class ClubhouseConfig(AppConfig):
    name = "portal.clubhouse"
    label = "clubhouse"
