from __future__ import annotations

from django.apps import AppConfig
from django.core import checks

from portal.jobs.checks import demo_stays_here


class JobsConfig(AppConfig):
    name = "portal.jobs"
    label = "jobs"

    def ready(self) -> None:
        checks.register(demo_stays_here, checks.Tags.security)
