"""What the names in settings.JOB_KINDS stand for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from django.conf import settings
from django.utils.module_loading import import_string

from portal.jobs.models import Job

JobFunction = Callable[[Job, datetime], None]


class UnknownKind(Exception):
    """No function is known for a job of this kind."""


def queue_of(kind: str) -> str:
    return _entry(kind)[1]


def function_of(kind: str) -> JobFunction:
    function: JobFunction = import_string(_entry(kind)[0])
    return function


def queues() -> list[str]:
    return sorted({queue for _path, queue in settings.JOB_KINDS.values()})


def _entry(kind: str) -> tuple[str, str]:
    try:
        return settings.JOB_KINDS[kind]
    except KeyError as error:
        known = ", ".join(sorted(settings.JOB_KINDS))
        raise UnknownKind(
            f"{kind!r} is no kind of job. Add it to JOB_KINDS in the settings, or use one of "
            f"{known}."
        ) from error
