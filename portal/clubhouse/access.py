"""The club that somebody heads: coaches know that its pages are there, others do not."""

from __future__ import annotations

from django.http import Http404

from portal.people.access import Actor, must
from portal.people.models import Club


def headed_club(actor: Actor, asked: str = "") -> Club:
    """Of several clubs the one whose code is `asked`, else the first by name."""
    if not actor.heads:
        must(not actor.is_staff)
        raise Http404
    clubs = {str(club.code): club for club in Club.objects.filter(pk__in=actor.heads)}
    return clubs.get(asked) or min(clubs.values(), key=lambda club: club.name)
