"""Marks on a clip: setting, numbering, lifting and setting back; and the figures they give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from portal.people.models import User
from portal.recordings import pacing, playing
from portal.recordings.models import Clip, Rendition, View
from portal.review import figuring
from portal.review.figuring import Moment
from portal.review.models import Mark
from portal.technique.models import Stroke

Kind = Mark.Kind
MOST = 200
COUNTED = (Kind.ENTRY, Kind.DOLPHIN)
METRES = {Kind.COMING: Decimal(5), Kind.GOING: Decimal(15)}
"""Where the head is marked mostly; whoever marks it elsewhere says so."""
OF_BREASTSTROKE = (Kind.PULL, Kind.KICK)


class Refused(ValueError):
    """The words say what to do instead."""


def kinds_for(clip: Clip) -> list[Mark.Kind]:
    """What there is to mark on it, in the order of a length."""
    left_out: list[Mark.Kind] = []
    if clip.stroke not in (Stroke.BREAST, Stroke.MEDLEY):
        left_out += OF_BREASTSTROKE
    if clip.view != View.BLOCK:
        left_out.append(Kind.TOES)
    return [kind for kind in Kind if kind not in left_out]


def put(
    clip: Clip, *, code: UUID, kind: str, frame: int, number: Decimal | None, by: User, at: datetime
) -> Mark:
    """Once, however often it is asked for with this code."""
    if not clip.first_frame <= frame <= clip.last_frame:
        raise Refused(_("Frame {frame} is not in this clip.").format(frame=frame))
    known = clip.marks.filter(code=code).first()
    if known:
        return known
    if clip.marks.count() >= MOST:
        raise Refused(_("This clip has {most} marks. Take some away first.").format(most=MOST))
    mark = Mark(clip=clip, code=code, kind=kind, frame=frame, set_by=by, set_at=at)
    mark.number = number if number is not None else _number(mark)
    return _keep(mark)


def change(
    mark: Mark, *, number: Decimal | None = None, lifted: bool | None = None, at: datetime
) -> Mark:
    if number is not None and mark.number is not None:
        mark.number = number
    if lifted is not None:
        mark.lifted_at = at if lifted else None
    return _keep(mark)


def _keep(mark: Mark) -> Mark:
    try:
        with transaction.atomic():
            mark.save()
    except IntegrityError as twice:
        raise Refused(_("This is marked at this frame already.")) from twice
    return mark


def _number(mark: Mark) -> Decimal | None:
    """The metres that are usual, or the one after the last that was counted before it."""
    if mark.kind not in COUNTED:
        return METRES.get(Mark.Kind(mark.kind))
    before = mark.clip.marks.standing().filter(kind=mark.kind, frame__lt=mark.frame).last()
    return Decimal(1) if before is None or before.number is None else before.number + 1


def as_json(clip: Clip, copy: Rendition | None) -> dict[str, Any]:
    """The marks and what they give, for the bench. Without a copy there are no times."""
    within = {"frame__gte": clip.first_frame, "frame__lte": clip.last_frame}
    marks = list(clip.marks.standing().filter(**within).order_by("frame", "id"))
    return {
        "marks": [
            {
                "code": str(mark.code),
                "kind": mark.kind,
                "name": str(Kind(mark.kind).label),
                "frame": mark.frame,
                "number": None if mark.number is None else float(mark.number),
            }
            for mark in marks
        ],
        "figures": [asdict(told) for told in _figures(clip, marks, copy)],
        "pace": _pace(clip),
    }


def _pace(clip: Clip) -> str:
    """Of slow motion: whose seconds the figures are."""
    recording = clip.recording
    if claimed := pacing.doubt(recording):
        said = _(
            "The file says that it was filmed at {rate} frames a second, and it plays at fewer."
        )
        todo = _(
            "Say on the sorting table whether it is slow motion: these seconds are the film’s."
        )
        return f"{said.format(rate=round(claimed))} {todo}"
    if pacing.is_slowed(recording):
        return _("Slow motion: these are the seconds of the swim, not of the film.")
    return ""


def _figures(clip: Clip, marks: Sequence[Mark], copy: Rendition | None) -> list[figuring.Told]:
    if copy is None or not marks:
        return []
    slowed = pacing.slowed(clip.recording)
    times = [moment / slowed for moment in playing.moments(clip, copy)]
    moments = [
        Moment(
            kind=mark.kind,
            frame=mark.frame,
            seconds=times[mark.frame - clip.first_frame],
            gap=_gap(times, mark.frame - clip.first_frame),
            number=float(mark.number or 0),
        )
        for mark in marks
    ]
    return figuring.figures(moments, stroke=clip.stroke)


def _gap(times: Sequence[float], place: int) -> float:
    """To the frame before or after, whichever is farther."""
    around = times[max(0, place - 1) : place + 2]
    return max((after - before for before, after in pairwise(around)), default=0)
