"""The child's view: a guardian hands over the phone, and the pages hide settings and siblings.

It is kept in the session of that phone. It hides; what may be seen and done is asked elsewhere.
"""

from __future__ import annotations

from django.contrib.sessions.backends.base import SessionBase

from portal.people.access import Actor
from portal.people.http import Request
from portal.people.models import Swimmer

KEY = "child_view"


def hand_over(session: SessionBase, child: Swimmer) -> None:
    session[KEY] = str(child.code)


def hand_back(session: SessionBase) -> None:
    session.pop(KEY, None)


def holder(request: Request) -> str:
    """The code of the child who holds the phone; empty in everybody's own view."""
    return str(request.session.get(KEY, ""))


def is_theirs(request: Request, swimmer: Swimmer) -> bool:
    """Whether the page speaks to the swimmers themselves."""
    return swimmer.pk in request.actor.is_swimmer or holder(request) == str(swimmer.code)


def may_hand_over(actor: Actor, child: Swimmer) -> bool:
    return child.pk in actor.guards
