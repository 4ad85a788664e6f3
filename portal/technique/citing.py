"""Saying where a rule stands: book, article, edition, and how sure we are of it."""

from __future__ import annotations

from typing import TypedDict

from django.utils.translation import gettext_lazy as _

CERTAINTY = {
    "verified": _("read in a copy of that edition"),
    "part": _("read second-hand or in an older edition"),
    "from memory": _("from memory, not checked"),
}


class Citation(TypedDict, total=False):
    book: str
    article: str
    edition: str
    certainty: str


def cited(citation: Citation) -> str:
    """Never as checked when it was not."""
    where = " ".join(part for part in (citation.get("book"), citation.get("article")) if part)
    certainty = citation.get("certainty", "")
    facts = [where, citation.get("edition", ""), str(CERTAINTY.get(certainty, certainty))]
    return ", ".join(fact for fact in facts if fact)
