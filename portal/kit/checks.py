"""What must hold before the first page is shown."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Sequence
from types import CodeType
from typing import Any

from django.apps import AppConfig
from django.core import checks
from django.core.checks import CheckMessage, Error
from django.core.management.base import SystemCheckError
from django.urls import URLPattern, URLResolver, get_resolver

from portal.kit.declaring import OPEN

View = Callable[..., Any]

# Views of libraries that ask who somebody is by themselves, by the start of their module's name.
THEIR_OWN = ("allauth.",)


def views_declare_access(
    app_configs: Sequence[AppConfig] | None = None,  # noqa: ARG001 - the framework's signature
    **_options: Any,  # noqa: ANN401 - the framework's signature
) -> list[CheckMessage]:
    """Costs the loading of every page, as the first request would."""
    return [
        fault
        for name, view in views(get_resolver().url_patterns)
        if not view.__module__.startswith(THEIR_OWN)
        for fault in _faults(name, view)
    ]


def views(
    patterns: Sequence[URLPattern | URLResolver], space: str = ""
) -> Iterator[tuple[str, View]]:
    """Every address below these patterns: its name, and what answers there."""
    for entry in patterns:
        if isinstance(entry, URLResolver):
            inner = f"{entry.namespace}:" if entry.namespace else ""
            yield from views(entry.url_patterns, space + inner)
        else:
            yield f"{space}{entry.name or entry.pattern}", entry.callback


def _faults(name: str, view: View) -> Iterator[CheckMessage]:
    access = getattr(view, "access", ())
    if not access:
        yield Error(
            f"The view at {name!r} does not say who may see it.",
            hint="Declare it with @asks(rule), @signed_in, @staff_only or @open_to_all.",
            id="kit.E001",
        )
        return
    if (OPEN in access) == getattr(view, "login_required", True):
        yield Error(
            f"The view at {name!r} is declared {', '.join(access)!r}, but strangers are "
            f"{'sent to sign in' if OPEN in access else 'let in'}.",
            hint="Use @open_to_all in place of @login_not_required, and nothing else to open it.",
            id="kit.E002",
        )
    named = set(_names(inspect.unwrap(view).__code__))
    for rule in getattr(view, "rules", ()):
        if rule.__name__ not in named:
            yield Error(
                f"The view at {name!r} declares {rule.__name__!r} and never asks it.",
                hint="Ask the rule in the view's own body, or declare the one that it asks.",
                id="kit.E003",
            )


def _names(code: CodeType) -> Iterator[str]:
    """What a function asks for by name, in its comprehensions too."""
    yield from code.co_names
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield from _names(inner)


def refuse_faults() -> None:
    """Raises SystemCheckError for what `manage.py` would not start with either, once it is told."""
    faults = [message for message in checks.run_checks() if message.is_serious()]
    if faults:
        raise SystemCheckError("\n".join(str(message) for message in faults))
