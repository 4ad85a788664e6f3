from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache

# In this order: the operations import the base, which imports the operations.
from django.db.backends.sqlite3 import base  # noqa: F401
from django.db.backends.sqlite3.operations import DatabaseOperations
from django.test import Client

from portal.audit import sealing
from tests.cast import Cast, assemble


@pytest.fixture(autouse=True)
def own_files(settings, tmp_path: Path) -> Iterator[Path]:
    """Every test writes its footage and its mail into its own folder."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    # Most tests are about what comes behind the door; those of the door switch it on.
    settings.STAFF_FACTOR = False
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    yield tmp_path


@pytest.fixture(autouse=True)
def nothing_is_counted_yet() -> None:
    """All tests come from one place, at which the door and the costly pages look."""
    cache.clear()


@pytest.fixture(scope="session", autouse=True)
def emptied_past_the_seal() -> Iterator[None]:
    """Clearing a test database deletes row by row on SQLite, which the record refuses."""
    flush = DatabaseOperations.sql_flush

    def around(self: DatabaseOperations, *args: Any, **options: Any) -> list[str]:
        statements = flush(self, *args, **options)
        return [*sealing.BREAK["sqlite"], *statements, *sealing.SEAL["sqlite"]]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(DatabaseOperations, "sql_flush", around)
        yield


@pytest.fixture
def cast(db) -> Cast:
    return assemble()


@pytest.fixture
def as_coach(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.coach)
    return client
