"""The original goes when the club's days for film as it was filmed are over.

What a family or a coach looks at stays: the light copy, and each clip's own copy. As long as one of
them is not made yet the original stays as well, and what the welfare officer holds stays whole. Of
a film that was thrown away nothing is left. The session's page says beforehand what goes and when.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.kit import storage
from portal.people.models import Club
from portal.recordings.models import Clip, Recording, Rendition

# What was thrown away by mistake can be asked back for so long, whatever the club's days are.
REGRET = timedelta(days=7)


def drop_due(*, at: datetime) -> int:
    """Of every club; gives how many originals went. May run twice, and at once."""
    return sum(_drop(one, at=at) for club in Club.objects.all() for one in _due(club, at=at))


def _due(club: Club, *, at: datetime) -> QuerySet[Recording]:
    days = timedelta(days=club.raw_days)
    clips = Clip.objects.kept().filter(recording=OuterRef("pk"))
    uncopied = clips.exclude(renditions__kind=Rendition.Kind.FULL)
    # What waits to be made ready is needed for that, however long it waits.
    is_copied = Q(state=Recording.State.READY) & ~Exists(uncopied)
    is_useless = Q(state=Recording.State.FAILED)
    return Recording.objects.filter(
        Q(thrown_away_at__lte=at - REGRET) | Q(is_copied | is_useless, thrown_away_at=None),
        session__squad__club=club,
        uploaded_at__lte=at - days,
        original_went_at=None,
        held_at=None,
    )


def _drop(recording: Recording, *, at: datetime) -> bool:
    """The row first: a file without one is swept, but a row must not promise a file."""
    club = recording.session.squad.club
    with transaction.atomic():
        # Once more and under a lock: it may be held, or cut anew, since the list was read.
        rows = Recording.objects.select_for_update(of=("self",))
        held = rows.filter(pk__in=_due(club, at=at).filter(pk=recording.pk)).first()
        if held is None:
            return False
        going = [str(held.original)]
        Recording.objects.filter(pk=held.pk).update(original="", original_went_at=at)
        if held.thrown_away_at:
            going += held.renditions.values_list("file", flat=True)
            going += [storage.strip_name(held.code), storage.poster_name(held.code)]
            held.renditions.all().delete()
        note(Entry.Action.REMOVED, held, at=at, by=None, club=club, what="original")
    for name in filter(None, going):
        storage.remove(name)
    return True
