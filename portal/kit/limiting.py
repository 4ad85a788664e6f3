"""So often and no more: actions that cost the machine, or somebody's attention, much.

Counted in the shared cache by who has signed in, and otherwise by where they ask from, in windows
that begin with the hour or the minute. Without a cache nothing is counted and everybody is let
through: these limits guard the machine, not the children.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from math import ceil
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.translation import ngettext

from portal.kit.counting import one_more
from portal.kit.forwarding import client
from portal.kit.stopping import stop

MINUTE, HOUR = 60, 60 * 60
CHANGING = frozenset({"POST"})

Asking = TypeVar("Asking", bound=HttpRequest)
Rest = ParamSpec("Rest")
View = Callable[Concatenate[Asking, Rest], HttpResponseBase]


def at_most(
    count: int, *, within: int, of: str, methods: frozenset[str] = CHANGING
) -> Callable[[View[Asking, Rest]], View[Asking, Rest]]:
    """`@at_most(20, within=HOUR, of="sheets")`: the next one in these seconds gets a 429.

    Views with the same `of` share one count. Costs two round trips to the cache.
    """

    def limit(view: View[Asking, Rest]) -> View[Asking, Rest]:
        @wraps(view)
        def answer(request: Asking, /, *args: Rest.args, **values: Rest.kwargs) -> HttpResponseBase:
            wait = seconds_to_wait(request, of, count, within) if request.method in methods else 0
            return refuse(request, wait) if wait else view(request, *args, **values)

        return answer

    return limit


def seconds_to_wait(request: HttpRequest, of: str, count: int, within: int) -> int:
    """Counts this action; 0 when it may be done, else the seconds until the next may be."""
    now = int(request.now.timestamp())  # type: ignore[attr-defined]
    window, spent = divmod(now, within)
    key = f"limit:{of}:{_who(request)}:{window}".replace(" ", "-")
    return within - spent if one_more(key, within=within) > count else 0


def _who(request: HttpRequest) -> str:
    user: Any = getattr(request, "user", None)
    return str(user.code) if user and user.is_authenticated else client(request)


def refuse(request: HttpRequest, wait: int) -> HttpResponseBase:
    minutes = ceil(wait / MINUTE)
    said = ngettext(
        "That was a lot in a short time. Go on in a minute.",
        "That was a lot in a short time. Go on in %(minutes)s minutes.",
        minutes,
    )
    answer = stop(request, 429, said=said % {"minutes": minutes})
    answer.headers["Retry-After"] = str(wait)
    return answer
