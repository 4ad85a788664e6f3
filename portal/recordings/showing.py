"""Laying clips open to a swimmer's family and taking them away again; who sees which picture.

Everything is asked anew each time, so that a no, a hiding or a hold shuts every byte at the next
request. The rules of `Clip.objects.visible_to` and `Recording.objects.watched_by` stand here a
second time for rows already in hand, which takes a third of what the filters take; a test holds
the two together.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from portal.people import consenting
from portal.people.access import Actor, trained_by
from portal.people.models import Consent, Squad, Swimmer
from portal.recordings.models import Clip, Recording, Showing

Purpose = Consent.Purpose


def show(clips: Iterable[Clip], *, to: Swimmer, at: datetime) -> None:
    """A clip that lies open already keeps its day; one that was removed stays shut."""
    kept = Clip.objects.kept().filter(pk__in=[clip.pk for clip in clips])
    Showing.objects.bulk_create(
        [Showing(clip=clip, swimmer=to, since=at) for clip in kept], ignore_conflicts=True
    )


def shut(clips: Iterable[Clip], *, to: Swimmer) -> None:
    Showing.objects.filter(clip__in=[clip.pk for clip in clips], swimmer=to).delete()


def watchable(clips: Collection[Clip], *, by: Actor, squad: Squad) -> set[int]:
    """Ids of those of one squad's clips whose pictures this person may see. At most three
    queries; the clips come with their recordings."""
    there = [clip for clip in clips if not clip.removed_at and not clip.recording.thrown_away_at]
    if not there:
        return set()
    companies = _companies(Q(clip__in=there), on=by.at.date())
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
    companies = _companies(Q(clip__recording=recording), on=by.at.date()).values()
    is_hidden = any(company.is_hidden for company in companies)
    return not any(company.has_unfilmed for company in companies) and (is_officer or not is_hidden)


def showable(clips: Collection[Clip], *, on: date) -> set[int]:
    """Ids of the clips that families may see on that day, whoever asks. One query."""
    companies = _companies(Q(clip__in=clips), on=on) if clips else {}
    return {
        clip.id
        for clip in clips
        if not clip.removed_at and _is_open(clip) and companies[clip.id].may_be_shown
    }


@dataclass
class Company:
    """Those who swim in one clip, as far as the rules ask."""

    is_hidden: bool = False
    has_unfilmed: bool = False
    has_left: bool = False
    has_unshown: bool = False

    @property
    def may_be_shown(self) -> bool:
        return not self.has_unfilmed and not self.has_unshown


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


def _companies(which: Q, *, on: date) -> dict[int, Company]:
    """By clip. One query."""
    rows = Clip.swimmers.through.objects.filter(which).values_list(
        "clip_id",
        "clip__hidden_at",
        "swimmer_id",
        "swimmer__left_on",
        "swimmer__born",
        "swimmer__user_id",
        "swimmer__consents__purpose",
        "swimmer__consents__is_given",
        "swimmer__consents__answered_by_id",
        "swimmer__consents__is_newest",
        "swimmer__consents__until",
    )
    companies: dict[int, Company] = defaultdict(Company)
    said: dict[tuple[int, int], list[tuple[str, bool]]] = defaultdict(list)
    for row in rows:
        clip, hidden_at, swimmer, left_on, born, own, purpose, is_given, by, is_newest, until = row
        company, stands = companies[clip], said[clip, swimmer]
        company.is_hidden |= hidden_at is not None
        company.has_left |= left_on is not None and left_on <= on
        if is_newest and consenting.counts(until=until, born=born, own=own, by=by, on=on):
            stands.append((purpose, is_given))
    for (clip, _swimmer), answers in said.items():
        companies[clip].has_unfilmed |= (Purpose.FILM, False) in answers
        refused = (Purpose.SHOW, False) in answers
        companies[clip].has_unshown |= refused or (Purpose.SHOW, True) not in answers
    return companies
