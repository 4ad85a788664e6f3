"""A plugin: each of the processes that share the tests has a Redis of its own, since what one
empties the other still counts on. It is named on the command line, so that the settings, which
are read next, know it."""

from __future__ import annotations

import os

OWN = "FLAGLINE_TEST_REDIS_"
if worker := os.environ.get("PYTEST_XDIST_WORKER"):
    os.environ["FLAGLINE_REDIS"] = os.environ[OWN + worker]
