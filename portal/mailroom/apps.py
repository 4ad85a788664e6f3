from __future__ import annotations

from django.apps import AppConfig


class MailroomConfig(AppConfig):
    name = "portal.mailroom"
    label = "mailroom"
