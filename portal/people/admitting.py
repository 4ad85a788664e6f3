"""Doors that whole groups of people pass."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import Http404
from django.http.response import HttpResponseBase

from portal.kit.declaring import declared
from portal.people.http import Request

Rest = ParamSpec("Rest")
View = Callable[Concatenate[Request, Rest], HttpResponseBase]


def staff_only(view: View[Rest]) -> View[Rest]:
    """Coaches and assistants of any squad; for everybody else there is no such page."""

    @wraps(view)
    def answer(request: Request, /, *args: Rest.args, **values: Rest.kwargs) -> HttpResponseBase:
        if not request.actor.is_staff:
            raise Http404
        return view(request, *args, **values)

    return declared(answer, "staff only")
