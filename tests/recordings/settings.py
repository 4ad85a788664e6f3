"""The portal's settings for a web server that a test starts: on the database of the test, and
without a second factor, which the tests of the door are about."""

from __future__ import annotations

from tests.jobs.settings import *  # noqa: F403

STAFF_FACTOR = False
