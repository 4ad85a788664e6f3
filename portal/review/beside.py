"""What lies beside a clip: what is open of its swimmers, and their last clip of the same kind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.needing import MOST_OPEN, by_need
from portal.items.recurrence import Look, Said, State, is_not_seen_lately, looks
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings.models import Clip, Rendition
from portal.review import access
from portal.review.models import Mark
from portal.technique.models import Wording
from portal.technique.wording import our_name

SIGNS = 5
TRIED = 5
"""How many earlier clips are looked at for one whose pictures may be seen."""
Kind = Mark.Kind
COMMON = (Kind.LEFT, Kind.BREAKOUT, Kind.TOUCH, Kind.ENTRY, Kind.GOING, Kind.COMING)
"""Marks that two clips are laid side by side at, the surest first."""
WORDS = {
    State.NEW: gettext_lazy("new"),
    State.RECURRING: gettext_lazy("recurring"),
    State.IMPROVING: gettext_lazy("improving"),
    State.RETURNED: gettext_lazy("returned"),
}


class Seen(NamedTuple):
    """An observation of a swimmer, whatever the stroke."""

    stroke: str
    checkpoint: int
    fault: int | None
    said: Said


@dataclass(frozen=True)
class Open:
    """An open item as a line: its name, how it stands, the newest sessions as signs."""

    name: str
    slugs: str
    """Of its fault and its checkpoint, which the finder offers first."""
    state: str
    word: str
    looked: str
    signs: list[str]
    """One for each of the swimmer's last reviewed sessions, the newest last."""


@dataclass(frozen=True)
class Items:
    swimmer: Swimmer
    rows: list[Open]


def open_items(clip: Clip, swimmers: Sequence[Swimmer], *, on: date) -> list[Items]:
    """Of these swimmers, in the clip's stroke, as they stood on that day. Two queries, however
    many there are."""
    club = clip.recording.session.squad.club_id
    found = ItemSummary.objects.still_open().filter(swimmer__in=swimmers, stroke=clip.stroke)
    found = found.annotate(
        fault_said=our_name(club, Wording.Table.FAULT, "fault"),
        checkpoint_said=our_name(club, Wording.Table.CHECKPOINT, "checkpoint"),
    )
    of_each: dict[int, list[ItemSummary]] = defaultdict(list)
    for item in by_need(found):
        of_each[item.swimmer_id].append(item)
    seen = _seen(of_each.keys(), until=on)
    return [
        Items(
            swimmer,
            [_line(item, seen[swimmer.pk], on=on) for item in of_each[swimmer.pk]][:MOST_OPEN],
        )
        for swimmer in swimmers
    ]


def _seen(swimmers: Collection[int], *, until: date) -> dict[int, list[Seen]]:
    found: dict[int, list[Seen]] = defaultdict(list)
    if not swimmers:
        return found
    rows = Observation.objects.filter(swimmer__in=list(swimmers), date__lte=until).values_list(
        *("swimmer_id", "stroke", "checkpoint_id", "fault_id", "verdict"),
        *("session_id", "date", "clip_id", "coach_id"),
    )
    for swimmer, stroke, checkpoint, fault, verdict, session, day, clip, coach in rows:
        is_faulty, is_not_legal = verdict != Verdict.GOOD, verdict == Verdict.NOT_LEGAL
        said = Said(session, day, clip, coach, is_faulty, is_not_legal)
        found[swimmer].append(Seen(stroke, checkpoint, fault, said))
    return found


def _line(item: ItemSummary, seen: Sequence[Seen], *, on: date) -> Open:
    """Praise of a checkpoint is a clean look at each of its faults."""
    sessions = sorted({(one.said.day, one.said.session) for one in seen})
    key = (item.stroke, item.checkpoint_id)
    found = {
        look.session: look
        for look in looks(
            one.said
            for one in seen
            if (one.stroke, one.checkpoint) == key and one.fault in (None, item.fault_id)
        )
    }
    newer = sum(place > (item.last_look, item.last_session) for place in sessions if item.last_look)
    is_unseen = item.last_look is not None and is_not_seen_lately(
        item.last_look, sessions_since=newer, on=on
    )
    return Open(
        name=item.fault_said or item.checkpoint_said,  # type: ignore[attr-defined]
        slugs=" ".join(term.slug for term in (item.fault, item.checkpoint) if term),
        state=item.state,
        word=_("not seen lately") if is_unseen else str(WORDS[State(item.state)]),
        looked=_("seen in {faulty} of {looks}").format(faulty=item.faulty, looks=item.looks),
        signs=[_sign(found.get(session)) for _day, session in sessions[-SIGNS:]],
    )


def _sign(look: Look | None) -> str:
    if look is None or not look.counts:
        return "not looked at"
    if look.is_not_legal:
        return Verdict.NOT_LEGAL
    if look.both_seen:
        return "both seen"
    return Verdict.WORK_ON if look.is_faulty else Verdict.GOOD


@dataclass(frozen=True)
class Earlier:
    """A clip to lay beside, and the copy of it that this person may see."""

    clip: Clip
    copy: Rendition
    align: tuple[int, int] | None
    """The frames of both that show the same moment, by their marks."""


def last_alike(clip: Clip, *, by: Actor) -> Earlier | None:
    """The newest earlier clip of one of its swimmers in the same stroke and view whose pictures
    `by` may see; consent, hidings and holds are asked anew."""
    session, recording = clip.recording.session, clip.recording
    same_day = Q(recording__session__date=session.date)
    before = (
        Q(recording__session__date__lt=session.date)
        | Q(same_day, recording__uploaded_at__lt=recording.uploaded_at)
        | Q(same_day, recording=recording, last_frame__lt=clip.first_frame)
    )
    found = (
        Clip.objects.visible_to(by)
        .filter(before, swimmers__in=clip.swimmers.all(), stroke=clip.stroke, view=clip.view)
        .select_related("recording__session__squad__club")
        .order_by("-recording__session__date", "-recording__uploaded_at", "-first_frame", "-pk")
        .distinct()
    )
    for other in found[:TRIED]:
        copy = access.copy_to_watch(by, other)
        if copy:
            return Earlier(other, copy, _align(clip, other))
    return None


def _align(clip: Clip, other: Clip) -> tuple[int, int] | None:
    marks = Mark.objects.standing().filter(clip__in=[clip, other], kind__in=COMMON)
    frames: dict[tuple[int, str], int] = {}
    for mark in marks:
        frames.setdefault((mark.clip_id, mark.kind), mark.frame)
    for kind in COMMON:
        mine, that = frames.get((clip.pk, kind)), frames.get((other.pk, kind))
        if mine is not None and that is not None:
            return mine, that
    return None
