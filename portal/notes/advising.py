"""What the squad's catalogue adds to a moment: the rule behind a warning, the drill, the cautions.

Many notes share them, so each process keeps what it drew last. Nothing of a swimmer is in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from portal.notes.wording import DrillWords, FaultWords

MOST = 500
"""Kept by a process, of about a kilobyte each."""


@dataclass(frozen=True)
class Advice:
    is_filmed: bool
    is_warning: bool
    fault: FaultWords | None
    drill: DrillWords | None
    dose: str
    """As the coach has set it; the drill's usual one if that is empty."""

    @property
    def rules(self) -> tuple[tuple[str, str], ...]:
        """Those that a warning is about: name with the book, and what the rule says."""
        return self.fault.rules if self.fault and self.is_warning else ()

    @property
    def cautions(self) -> list[str]:
        """Those of the drill and of the fault, each once."""
        terms = [term for term in (self.drill, self.fault) if term]
        return list(dict.fromkeys(text for term in terms for text in term.cautions))


def drawn(advice: Advice) -> SafeString:
    draw = _draw if settings.DEBUG else _keep
    return draw(advice, get_language())


def _draw(advice: Advice, _language: str | None) -> SafeString:
    return render_to_string("notes/_advice.html", {"advice": advice})


_keep = lru_cache(maxsize=MOST)(_draw)
