"""The portal's settings for the bench and for the web server that it starts."""

from __future__ import annotations

from portal.settings import *  # noqa: F403

# With a view that does nothing, and with the bare page of the player.
ROOT_URLCONF = "tests.bench.pages"
# The cast's passwords are made anew each time and never asked for.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
