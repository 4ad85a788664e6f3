"""Camera views in words. Views of clips stand on a floor above; a test keeps the two the same."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

VIEW_WORDS = {
    "side-underwater": _("side, under water"),
    "front-underwater": _("front, under water"),
    "rear-underwater": _("rear, under water"),
    "wall-underwater": _("wall, under water"),
    "side-deck": _("side, from the deck"),
    "front-deck": _("front, from the deck"),
    "rear-deck": _("rear, from the deck"),
    "wall-deck": _("wall, from the deck"),
    "overhead": _("from above"),
    "block": _("starting block"),
    "entry-underwater": _("entry, under water"),
}


def view_words(slugs: str) -> list[str]:
    return [str(VIEW_WORDS[slug]) for slug in slugs.split() if slug in VIEW_WORDS]
