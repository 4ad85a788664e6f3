"""For a test that moves the record's own clock."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection

from portal.audit import sealing


@contextmanager
def broken_seal() -> Iterator[None]:
    with connection.cursor() as cursor:
        for statement in sealing.BREAK[connection.vendor]:
            cursor.execute(statement)
        yield
        for statement in sealing.SEAL[connection.vendor]:
            cursor.execute(statement)
