"""How much room a club has for film: what it has given itself, and what the disk still takes."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.db.models import Sum
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _

from portal.kit import storage
from portal.people.models import Club
from portal.recordings.models import Arrival, Recording, Rendition

GIGABYTE = 1024**3


class ClubIsFull(Exception):
    """The film does not fit into what the club keeps for film; the message is for people."""


@dataclass(frozen=True)
class Room:
    given: int
    """Bytes, as the club's settings say."""
    used: int
    free: int
    """Bytes that may still come in, which may be fewer than the club has left: the disk's."""


def room(club: Club) -> Room:
    """Three queries."""
    given, taken = club.film_gigabytes * GIGABYTE, used(club)
    return Room(given, taken, max(0, min(given - taken, storage.room())))


def limits(club: Club) -> dict[str, object]:
    """What `recordings/_bring.html` says before anything is sent. Three queries."""
    film = {"bytes": settings.RECORDING_MAX_BYTES, "minutes": settings.RECORDING_MAX_MINUTES}
    return {"limits": film, "room": room(club)}


def used(club: Club) -> int:
    """Bytes of what was filmed, of its copies, and of what is announced and on its way."""
    filmed = Recording.objects.filter(session__squad__club=club, original_went_at=None)
    copies = Rendition.objects.filter(recording__session__squad__club=club)
    coming = Arrival.objects.filter(session__squad__club=club, recording=None)
    return (
        (filmed.aggregate(sum=Sum("size"))["sum"] or 0)
        + (copies.aggregate(sum=Sum("size"))["sum"] or 0)
        + (coming.aggregate(sum=Sum("length"))["sum"] or 0)
    )


def must_fit(club: Club, size: int) -> None:
    """Raises ClubIsFull unless a film of so many bytes fits into the club's own room."""
    given, taken = club.film_gigabytes * GIGABYTE, used(club)
    if taken + size > given:
        raise ClubIsFull(
            _(
                "The club’s room for film is full: %(used)s of %(given)s are taken, and this film "
                "has %(size)s. Ask the head coach to give more room, or fewer days for the "
                "originals, in the club’s settings. Then try again."
            )
            % {
                "used": filesizeformat(taken),
                "given": filesizeformat(given),
                "size": filesizeformat(size),
            }
        )
