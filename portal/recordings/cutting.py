"""Cutting a recording into clips: marks only, the film itself stays as it is."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.consenting import allowed
from portal.people.models import Consent, SquadPlace, Swimmer, User
from portal.recordings.equipment import Equipment
from portal.recordings.models import Clip, Effort, Recording, Rendition, View
from portal.technique.models import Stroke


class Refused(Exception):
    """The stretch cannot be kept as a clip; the message is for people."""


@transaction.atomic
def cut(  # noqa: PLR0913 - what somebody marked, each by its name
    recording: Recording,
    *,
    first_frame: int,
    last_frame: int,
    swimmers: Collection[Swimmer],
    stroke: str,
    view: str,
    effort: str,
    equipment: str = Equipment.NONE,
    by: User,
    at: datetime,
) -> Clip:
    """A clip of frames `first_frame` to `last_frame`, both shown. Clips may overlap."""
    _must_lie_inside(recording, first_frame, last_frame)
    _must_be_a_choice(stroke=stroke, view=view, effort=effort, equipment=equipment)
    may_be_shown(recording, swimmers)
    clip = Clip.objects.create(
        recording=recording,
        first_frame=first_frame,
        last_frame=last_frame,
        stroke=stroke,
        view=view,
        effort=effort,
        equipment=equipment,
        cut_by=by,
        cut_at=at,
    )
    clip.swimmers.set(swimmers)
    note(Entry.Action.MADE, clip, at=at, by=by, club=recording.session.squad.club)
    return clip


@transaction.atomic
def remove(clip: Clip, *, by: User, at: datetime) -> None:
    """Nobody sees the clip any more; what was said about it stays. Twice is once."""
    if clip.recording.held_at:
        raise Refused(_("The welfare officer holds this film, so its clips stay as they are."))
    if Clip.objects.kept().filter(pk=clip.pk).update(removed_at=at):
        clip.showings.all().delete()
        note(Entry.Action.REMOVED, clip, at=at, by=by, club=clip.recording.session.squad.club)


def _must_lie_inside(recording: Recording, first: int, last: int) -> None:
    """Locks the recording: nobody may throw it away before the clip is kept."""
    is_kept = Recording.objects.kept().select_for_update().filter(pk=recording.pk).exists()
    copy = recording.renditions.filter(clip=None, kind=Rendition.Kind.LIGHT).first()
    if not is_kept or copy is None:
        raise Refused(_("This recording is not ready to be cut. Wait until it is."))
    if last <= first:
        raise Refused(
            _("The end (frame %(last)d) is not after the beginning (frame %(first)d). Move it.")
            % {"first": first, "last": last}
        )
    if first < 0 or last >= copy.frame_count:
        raise Refused(
            _(
                "Frames %(first)d to %(last)d are not all in this recording. "
                "It has frames 0 to %(end)d."
            )
            % {"first": first, "last": last, "end": copy.frame_count - 1}
        )


def _must_be_a_choice(*, stroke: str, view: str, effort: str, equipment: str) -> None:
    for value, choices, word in [
        (stroke, Stroke.values, _("stroke")),
        (view, View.values, _("view")),
        (effort, Effort.values, _("effort")),
        (equipment, Equipment.values, _("equipment")),
    ]:
        if value not in choices:
            raise Refused(
                _("“%(value)s” is no %(word)s. Choose one of those offered.")
                % {"value": value, "word": word}
            )


def may_be_shown(recording: Recording, swimmers: Collection[Swimmer]) -> None:
    """In the squad on the session's day, and filming was agreed to; else raises Refused."""
    if not swimmers:
        raise Refused(_("Say who swims here."))
    session = recording.session
    places = SquadPlace.objects.filter(squad=session.squad, swimmer__in=swimmers).on(session.date)
    squad = set(places.values_list("swimmer_id", flat=True))
    if strangers := [swimmer for swimmer in swimmers if swimmer.id not in squad]:
        raise Refused(
            ngettext(
                "%(names)s was not in this squad on the day of the session.",
                "%(names)s were not in this squad on the day of the session.",
                len(strangers),
            )
            % {"names": _names(strangers)}
        )
    agreed = allowed(Consent.Purpose.FILM, of=swimmers, on=session.date)
    if without := [swimmer for swimmer in swimmers if swimmer.id not in agreed]:
        raise Refused(
            ngettext(
                "%(names)s may not be filmed: the consent for it is missing. Leave the stretch "
                "out, or ask the family first.",
                "%(names)s may not be filmed: the consents for it are missing. Leave the stretch "
                "out, or ask the families first.",
                len(without),
            )
            % {"names": _names(without)}
        )


def _names(swimmers: Collection[Swimmer]) -> str:
    return ", ".join(sorted(swimmer.name for swimmer in swimmers))
