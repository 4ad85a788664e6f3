"""Where `celery -A portal` finds the doorbell and what else its processes need."""

import os

import django
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
django.setup()

from portal.env import BadSetting  # noqa: E402 - after the settings stand
from portal.jobs import doorbell, sweeping  # noqa: E402

if not settings.REDIS:
    raise BadSetting(
        "FLAGLINE_REDIS is not set, and Celery works through Redis alone. Set it to "
        "redis://host/0, or do the jobs without Celery: manage.py work."
    )

app = doorbell.app

__all__ = ["app", "sweeping"]
