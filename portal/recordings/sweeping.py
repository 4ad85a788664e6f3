"""Rows and files that have lost each other.

A file that no row names was left by a server that was killed, and goes once nothing can want it
any more. A copy whose file is gone is made anew, as long as there is something to make it from.
"""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from portal.jobs.models import Job
from portal.kit import storage
from portal.recordings import copying, listing, receiving
from portal.recordings.models import Recording, Rendition

# Long enough to put an older database back and notice what it does not know.
FORSAKEN = timedelta(days=30)
PICTURES = ("strips", "posters")

log = logging.getLogger(__name__)


def sweep(*, at: datetime) -> None:
    """Reads the names of all files once, however many there are, and after those of the rows:
    what a row named before must be among them."""
    films = dict(Recording.objects.exclude(original="").values_list("original", "code"))
    copies = set(Rendition.objects.values_list("file", flat=True))
    pictures = _pictures()
    kept = {folder: storage.names(folder) for folder in ("originals", "copies", *PICTURES)}
    for name in set().union(*kept.values()) - films.keys() - copies - pictures:
        _remove_forsaken(name, at=at)
    for name in films.keys() - kept["originals"]:
        log.error("original missing", extra={"code": films[name]})
    for copy in _wanted().filter(file__in=copies - kept["copies"]):
        log.error("copy missing", extra={"code": copy.code})
        if str(copy.recording.original) in kept["originals"]:
            _make_anew(copy, at=at)


def _pictures() -> set[str]:
    """Names of the pictures of every recording that is to be made ready, or is."""
    whole = Q(thrown_away_at=None) | Q(original_went_at=None)
    codes = Recording.objects.filter(whole).values_list("code", flat=True)
    return {
        name for code in codes for name in (storage.strip_name(code), storage.poster_name(code))
    }


def _wanted() -> QuerySet[Rendition]:
    """Copies that somebody may want to see."""
    kept = Rendition.objects.filter(recording__thrown_away_at=None, clip__removed_at=None)
    return kept.select_related("recording", "clip")


def _remove_forsaken(name: str, *, at: datetime) -> None:
    try:
        if storage.changed_at(name) <= at - FORSAKEN:
            storage.remove(name)
    except FileNotFoundError:
        return


@transaction.atomic
def _make_anew(copy: Rendition, *, at: datetime) -> None:
    copy.delete()
    if copy.clip:
        copying.ask_for_returned(copy.clip, at=at)
        return
    Job.objects.filter(key=listing.job_key(copy.recording), state=Job.State.DONE).delete()
    Recording.objects.filter(pk=copy.recording_id).update(state=Recording.State.WAITING)
    receiving.ask_to_prepare(copy.recording, at=at)
