"""Laying clips open to a swimmer's family and taking them away again; who sees which picture.

Everything is asked anew each time, so that a no, a hiding or a hold shuts every byte at the next
request. The rules of `Clip.objects.visible_to` and `Recording.objects.watched_by` stand here a
second time for rows already in hand, which takes a third of what the filters take; a test holds
the two together.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date, datetime

from django.db.models import Q

from portal.people.access import Actor, trained_by
from portal.people.models import Squad, Swimmer
from portal.recordings import accompanying
from portal.recordings.accompanying import Company
from portal.recordings.models import Clip, Recording, Showing


def show(clips: Iterable[Clip], *, to: Swimmer, at: datetime) -> None:
    """A clip that lies open already keeps its day; one that was removed stays shut."""
    kept = Clip.objects.kept().filter(pk__in=[clip.pk for clip in clips])
    Showing.objects.bulk_create(
        [Showing(clip=clip, swimmer=to, since=at) for clip in kept], ignore_conflicts=True
    )


def close(clips: Iterable[Clip], *, to: Swimmer) -> None:
    Showing.objects.filter(clip__in=[clip.pk for clip in clips], swimmer=to).delete()


def watchable(clips: Collection[Clip], *, by: Actor, squad: Squad) -> set[int]:
    """Ids of those of one squad's clips whose pictures this person may see. At most three
    queries; the clips come with their recordings."""
    there = [clip for clip in clips if not clip.removed_at and not clip.recording.thrown_away_at]
    if not there:
        return set()
    companies = accompanying.of_clips([clip.id for clip in there], on=by.today)
    has_left = any(company.has_left for company in companies.values())
    works_here = by.works_with(squad) and not has_left
    is_at_home = works_here or squad.club_id in by.heads | by.oversees
    shown = set() if is_at_home else _shown(there, to=by, of=squad)
    return {clip.id for clip in there if _may_watch(clip, companies[clip.id], shown, by, squad)}


def may_watch_whole(recording: Recording, *, by: Actor, squad: Squad) -> bool:
    """The recording from end to end, with all who swim in it. One query."""
    is_officer = squad.club_id in by.protects
    if recording.thrown_away_at or not (by.works_with(squad) or squad.club_id in by.oversees):
        return False
    if recording.held_at and not is_officer:
        return False
    companies = accompanying.of_recordings([recording.id], on=by.today).values()
    if is_officer:
        return not any(company.has_unfilmed for company in companies)
    return not any(company.shuts_the_whole for company in companies)


def shut(recordings: Collection[Recording], *, on: date) -> set[int]:
    """Ids of those whose pictures the staff of their squad may not see. One query."""
    companies = accompanying.of_recordings([row.id for row in recordings], on=on).values()
    closed = {company.recording for company in companies if company.shuts_the_whole}
    return closed | {row.id for row in recordings if row.held_at}


def showable(clips: Collection[Clip], *, on: date) -> set[int]:
    """Ids of the clips that families may see on that day, whoever asks. One query."""
    companies = accompanying.of_clips([clip.id for clip in clips], on=on)
    return {
        clip.id
        for clip in clips
        if not clip.removed_at and _is_open(clip) and companies[clip.id].may_be_shown
    }


def _may_watch(clip: Clip, company: Company, shown: set[int], by: Actor, squad: Squad) -> bool:
    if company.has_unfilmed:
        return False
    if squad.club_id in by.protects:
        return True
    if clip.hidden_at or clip.recording.held_at:
        return False
    if squad.club_id in by.heads | by.looks or (by.works_with(squad) and not company.has_left):
        return True
    return clip.id in shown and _is_open(clip) and company.may_be_shown


def _is_open(clip: Clip) -> bool:
    recording = clip.recording
    return not (clip.hidden_at or recording.held_at or recording.not_to_be_shown)


def _shown(clips: Collection[Clip], *, to: Actor, of: Squad) -> set[int]:
    """Ids of the clips that a published review shows to this reader."""
    readers = Q(swimmer__in=to.family_ids)
    if to.coaches or to.assists:
        readers |= Q(swimmer__in=trained_by(to))
    rows = Showing.objects.filter(clip__in=clips)
    if of.id not in to.seconds:
        rows = rows.filter(readers)
    return set(rows.values_list("clip_id", flat=True))
