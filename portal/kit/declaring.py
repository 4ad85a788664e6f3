"""Every view says by whose leave it answers; the portal does not start with one that is silent.

The words stand on the view as `access`, and the check in `checks.py` reads them. A rule is
declared as the very function that decides, so that its name cannot be misspelt, and the check
looks into the view's code whether it is asked there at all.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib.auth.decorators import login_not_required

View = TypeVar("View", bound=Callable[..., Any])
Rule = Callable[..., Any]

OPEN = "open to all"
SIGNED_IN = "signed in"


def open_to_all(view: View) -> View:
    """Strangers too: the page shows nothing of the club, or asks for a secret of its own."""
    _say(view, OPEN)
    return login_not_required(view)


def signed_in(view: View) -> View:
    """Whoever has signed in; the page holds only what is theirs."""
    return _say(view, SIGNED_IN)


def asks(*rules: Rule) -> Callable[[View], View]:
    """The view asks these in its own body: `@asks(session_for, Actor.leads)`."""

    def declare(view: View) -> View:
        view.rules = (*getattr(view, "rules", ()), *rules)  # type: ignore[attr-defined]
        return _say(view, *(rule.__name__ for rule in rules))

    return declare


def declared(view: View, words: str) -> View:
    """For decorators that ask a rule themselves, and so need no looking after."""
    return _say(view, words)


def _say(view: View, *words: str) -> View:
    view.access = (*words, *getattr(view, "access", ()))  # type: ignore[attr-defined]
    return view
