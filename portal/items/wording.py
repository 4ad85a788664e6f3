"""The words for how an item stands."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from portal.items.recurrence import State

WORDS = {
    State.GOOD: _("good"),
    State.NEW: _("new"),
    State.RECURRING: _("recurring"),
    State.IMPROVING: _("improving"),
    State.FIXED: _("fixed"),
    State.RETURNED: _("returned"),
}


def word(state: str) -> str:
    return str(WORDS[State(state)])
