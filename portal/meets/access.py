"""A meet or an entry by its code, or 404; and who may change them."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.meets.models import Entry, Meet
from portal.people.access import Actor
from portal.people.models import Club, Squad


def meet_for(actor: Actor, code: UUID) -> Meet:
    return get_object_or_404(Meet.objects.visible_to(actor).select_related("club"), code=code)


def entry_for(actor: Actor, code: UUID) -> Entry:
    entries = Entry.objects.visible_to(actor).select_related("meet__club", "swimmer")
    return get_object_or_404(entries, code=code)


def enters_for(actor: Actor, club: Club) -> bool:
    """Whoever leads a squad of the club enters its swimmers; assistants read."""
    return club.pk in actor.heads or (
        bool(actor.coaches) and Squad.objects.filter(pk__in=actor.coaches, club=club).exists()
    )
