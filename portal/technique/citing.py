"""Saying where a rule stands: book, edition, and how sure we are of it.

Coaches read all that we know of our source; families one short line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

CERTAINTY = {
    "verified": gettext_lazy("read in a copy of that edition"),
    "part": gettext_lazy("read second-hand or in an older edition"),
    "from memory": gettext_lazy("from memory, not checked"),
}


class Citation(TypedDict, total=False):
    book: str
    article: str
    edition: str
    source: str
    certainty: str


def cited(citation: Citation) -> str:
    """Never as checked when it was not."""
    where = " ".join(part for part in (citation.get("book"), citation.get("article")) if part)
    certainty = citation.get("certainty", "")
    facts = [
        where,
        _edition(citation),
        citation.get("source", ""),
        str(CERTAINTY.get(certainty, certainty)),
    ]
    return ", ".join(fact for fact in facts if fact)


def named(name: str, citations: Sequence[Citation]) -> str:
    """The rule's name with the first book that has it, as a family reads it."""
    first: Citation = citations[0] if citations else {}
    line = ", ".join(fact for fact in (name, first.get("book", ""), _edition(first)) if fact)
    if first.get("certainty") == "verified":
        return line
    return _("%(rule)s (not checked against the current book)") % {"rule": line}


def _edition(citation: Citation) -> str:
    edition = citation.get("edition")
    return _("edition of %(edition)s") % {"edition": edition} if edition else ""


@dataclass(frozen=True)
class Source:
    """Where a rule stands in one book, taken apart for a page."""

    book: str
    article: str
    edition: str
    source: str
    certainty: str

    @property
    def is_read(self) -> bool:
        return self.certainty == "verified"

    @property
    def sure(self) -> str:
        return str(CERTAINTY.get(self.certainty, self.certainty))


def source_of(citation: Citation) -> Source:
    return Source(
        book=citation.get("book", ""),
        article=citation.get("article", ""),
        edition=_edition(citation),
        source=citation.get("source", ""),
        certainty=citation.get("certainty", ""),
    )
