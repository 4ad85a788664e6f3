"""The log: one line of JSON for each thing that happened, and nobody's name in it.

An allow-list instead of a scrubber: a line holds the keys below and nothing else, and each value
must look like a name of ours, a code or a number, so that a sentence or an address that strays in
is left out. Libraries fill their messages with what people sent; of those only the wording before
it was filled is kept, or where it stands. Of an error the type and the lines it passed are kept,
never its words: they quote file names and whatever somebody typed.

A code in an address may stand here. What opens something by itself must therefore be no UUID
called `code`.
"""

from __future__ import annotations

import json
import logging
import re
import secrets
import sysconfig
import time
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from datetime import UTC, datetime
from http import HTTPStatus
from pathlib import Path
from traceback import walk_tb
from types import TracebackType
from uuid import UUID

from django.http import HttpRequest
from django.http.response import HttpResponseBase

KEYS = (
    *("method", "route", "code", "status", "ms", "actor"),
    *("kind", "job", "attempt", "mail", "state", "week", "exit", "error"),
)
OURS = "portal."
PLAIN = re.compile(r"[\w.:+-]{1,100}", re.ASCII)
FRAMES = 30
HOME = Path(__file__).resolve().parent.parent.parent
PLACES = (sysconfig.get_path("purelib"), sysconfig.get_path("stdlib"), str(HOME))

log = logging.getLogger(__name__)
_number: ContextVar[str] = ContextVar("number", default="")


class JsonLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        line = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            **_event(record),
            "request": _number.get(),
            **{key: _plain(getattr(record, key, None)) for key in KEYS},
            **(_trace(record.exc_info[1]) if record.exc_info else {}),
        }
        return json.dumps(
            {key: value for key, value in line.items() if value not in (None, "", [])}
        )


def _event(record: logging.LogRecord) -> dict[str, str]:
    """Our own loggers say a fixed word or two; a library's message without arguments may have
    been filled already."""
    if record.name.startswith(OURS):
        return {"event": str(record.msg)}
    place = {"at": f"{record.module}:{record.lineno}"}
    return {"event": str(record.msg), **place} if record.args else place


def _plain(value: object) -> str | int | float | None:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, int | float):
        return value
    return value if isinstance(value, str) and PLAIN.fullmatch(value) else None


def _trace(error: BaseException | None) -> dict[str, object]:
    """The types of an error and of those behind it, the newest first, and where each passed."""
    chain = list(_chain(error))
    return {
        "error": " < ".join(type(each).__name__ for each in chain),
        "frames": [
            place for each in chain for place in list(_places(each.__traceback__))[-FRAMES:]
        ],
    }


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    met: set[int] = set()
    while error is not None and id(error) not in met:
        met.add(id(error))
        yield error
        hidden = None if error.__suppress_context__ else error.__context__
        error = error.__cause__ or hidden


def _places(trace: TracebackType | None) -> Iterator[str]:
    for frame, line in walk_tb(trace):
        path = frame.f_code.co_filename
        for place in PLACES:
            path = path.removeprefix(f"{place}/")
        yield f"{path}:{line} {frame.f_code.co_name}"


class JournalMiddleware:
    """Gives every request a number, sends it back, and writes one line when it is answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        began = time.perf_counter()
        request.number = new_number()  # type: ignore[attr-defined]
        token = _number.set(request.number)  # type: ignore[attr-defined]
        try:
            response = self.get_response(request)
            response.headers["X-Request-ID"] = request.number  # type: ignore[attr-defined]
            # A style sheet that was found is worth no line.
            if request.resolver_match or response.status_code >= HTTPStatus.BAD_REQUEST:
                spent = round((time.perf_counter() - began) * 1000, 1)
                facts = {**_facts(request), "status": response.status_code, "ms": spent}
                log.info("answered", extra=facts)
        finally:
            _number.reset(token)
        return response


def new_number() -> str:
    """Twelve digits in three groups: people read them to each other over the telephone."""
    digits = f"{secrets.randbelow(10**12):012}"
    return f"{digits[:4]}-{digits[4:8]}-{digits[8:]}"


def _facts(request: HttpRequest) -> dict[str, object]:
    match = request.resolver_match
    code = match.kwargs.get("code") if match else None
    # Whoever was read for the page; the log itself asks the database nothing.
    user = getattr(request, "_cached_user", None)
    return {
        "method": request.method,
        "route": match.view_name if match else None,
        "code": code if isinstance(code, UUID) else None,
        "actor": getattr(user, "code", None),
    }
