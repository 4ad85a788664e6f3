"""A turn by its code, or 404."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.poolside.models import Turn


def turn_for(actor: Actor, code: UUID) -> Turn:
    turns = Turn.objects.visible_to(actor).select_related("session__squad__club", "swimmer")
    return get_object_or_404(turns, code=code)
