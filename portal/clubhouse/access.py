"""The club that somebody heads: coaches know that its pages are there, others do not."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import Http404
from django.urls import reverse

from portal.people.access import Actor, must
from portal.people.models import Club


def headed_club(actor: Actor, asked: str = "") -> Club:
    """Of several clubs the one whose code is `asked`, else the first by name."""
    if not actor.heads:
        must(not actor.is_staff)
        raise Http404
    clubs = headed_clubs(actor)
    return next((club for club in clubs if str(club.code) == asked), clubs[0])


def headed_clubs(actor: Actor) -> list[Club]:
    return list(Club.objects.filter(pk__in=actor.heads).order_by("name", "pk"))


def address(name: str, club: Club) -> str:
    """Of a page of this club: whoever heads several stays in the one they are in."""
    return f"{reverse(f'clubhouse:{name}')}?{urlencode({'club': str(club.code)})}"
