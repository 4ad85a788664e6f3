"""The portal's settings for the worker processes of tests: with jobs that only tests know, and
with the database of the test that started them."""

from __future__ import annotations

from portal import env
from portal.settings import *  # noqa: F403
from portal.settings import DATABASES as PORTAL_DATABASES
from portal.settings import JOB_KINDS as PORTAL_KINDS

JOB_KINDS = {
    **PORTAL_KINDS,
    "tests.once": ("tests.jobs.kinds.once", "default"),
    "tests.other": ("tests.jobs.kinds.once", "media"),
    "tests.patient": ("tests.jobs.kinds.patient", "default"),
    "tests.endless": ("tests.jobs.kinds.endless", "default"),
    "tests.endless_at_first": ("tests.jobs.kinds.endless_at_first", "default"),
    "tests.program": ("tests.jobs.kinds.program", "default"),
    "tests.confined": ("tests.jobs.kinds.confined", "media"),
    "tests.broken": ("tests.jobs.kinds.broken", "default"),
    "tests.hopeless": ("tests.jobs.kinds.hopeless", "default"),
    "tests.reporting": ("tests.jobs.kinds.reporting", "default"),
    "tests.robbed": ("tests.jobs.kinds.robbed", "default"),
    "tests.robbed_silently": ("tests.jobs.kinds.robbed_silently", "default"),
}
PLANNERS = {"tests.other": 10**9} if env.flag("FLAGLINE_TEST_PLANNER") else {}
DATABASES = {
    "default": {
        **PORTAL_DATABASES["default"],
        "NAME": env.text("FLAGLINE_TEST_DATABASE", str(PORTAL_DATABASES["default"]["NAME"])),
    }
}
