"""The film that notes speak of: who is in it, what there is to see, when its frames are."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse
from django.utils.translation import gettext as _

from portal.kit.templatetags.look import film_time
from portal.notes import asking, hanging
from portal.notes.asking import Copy, Said
from portal.notes.picturing import small_still
from portal.people.access import Actor
from portal.recordings.models import Clip, Rendition, View
from portal.recordings.showing import watchable
from portal.review.models import Review
from portal.technique.models import Stroke


@dataclass(frozen=True)
class Stretch:
    """What a page of notes has to know of a clip."""

    clip: Clip
    is_seen: bool
    """Whether the reader may see pictures of it today."""
    copy: Copy | None
    """Its own."""
    clock: Copy | None
    """The same; while there is none, the light copy of the recording, of which nothing but the
    time is told."""

    @property
    def string(self) -> str:
        """Id of its drawing on the page."""
        return f"string-{self.clip.pk}"

    @cached_property
    def shows(self) -> list[str]:
        """Stroke and view, in words. The model's own way would translate all that there are."""
        return [str(Stroke(self.clip.stroke).label), str(View(self.clip.view).label)]

    @cached_property
    def film(self) -> tuple[str, str]:
        """Addresses of its own copy and of that copy's times."""
        if self.copy is None:
            return "", ""
        code = self.copy.code
        film, times = (reverse(f"recordings:{part}", args=[code]) for part in ("film", "times"))
        return film, times

    def share(self, frame: int) -> float:
        """How far into the clip, from 0 to 1."""
        return (frame - self.clip.first_frame) / (self.clip.frame_count - 1)


@dataclass(frozen=True)
class Picture:
    """The still of a moment, and what a script needs to lay the film over it."""

    still: str
    alt: str
    """What somebody is told who does not see it."""
    is_drawn_on: bool
    frame: str
    """Frames as text: a template would write numbers in the reader's language."""
    until: str
    first: str
    last: str
    film: str
    """Address of the clip's own copy. Empty while there is none, or none for this reader."""
    times: str


@dataclass(frozen=True)
class Scene:
    """A moment in its clip."""

    time: str
    shows: str
    place: str
    """Time, stroke and view. No time while no copy stands from which to tell."""
    picture: Picture | None
    """Not without a still, nor when somebody's answer forbids it. The page says nothing of
    the reason: it would tell one household of the other's answer."""
    string: str
    knot: str
    clip: str
    """Its code, for the family that may hide it or show it again."""
    hidden_by: int | None
    """The id of who asked for it to be hidden."""


def stretches(clips: Collection[int], review: Review, *, reader: Actor) -> dict[int, Stretch]:
    """Its clips by their ids. Four queries, and one more while a clip has no copy of its own."""
    if not clips:
        return {}
    rows = Clip.objects.filter(id__in=clips).order_by().select_related("recording")
    found = list(rows.defer("recording__facts", "recording__strip"))
    seen = watchable(found, by=reader, squad=review.session.squad)
    own = asking.own_copies(review)
    whole = _whole_copies({clip.recording_id for clip in found if clip.pk not in own})
    return {
        clip.pk: Stretch(
            clip=clip,
            is_seen=clip.pk in seen,
            copy=own.get(clip.pk),
            clock=own.get(clip.pk) or whole.get(clip.recording_id),
        )
        for clip in found
    }


def scene(said: Said, stretches: Mapping[int, Stretch], *, see: str) -> Scene | None:
    """None for a note from the deck. `see` says what the picture shows."""
    if said.clip is None or said.frame is None:
        return None
    stretch = stretches[said.clip]
    shows, clock = stretch.shows, stretch.clock
    time = film_time(clock.seconds(stretch.clip.first_frame, said.frame)) if clock else ""
    where = ", ".join([*shows, _("at %(time)s") % {"time": time}] if time else shows)
    alt = f"{where[:1].upper()}{where[1:]}. {see}"
    has_picture = said.has_still and stretch.is_seen
    return Scene(
        time=time,
        shows=", ".join(shows),
        place=" · ".join([time, *shows] if time else shows),
        picture=_picture(said, stretch, alt=alt) if has_picture else None,
        string=stretch.string,
        knot=hanging.large_knot(stretch.share(said.frame)),
        clip=str(stretch.clip.code),
        hidden_by=stretch.clip.hidden_by_id,
    )


def strings(comments: Iterable[Said], stretches: Mapping[int, Stretch]) -> dict[str, list[str]]:
    """The string of each clip with a small knot for each of its moments, by its id on the page.
    It is drawn once, and each moment adds its own large knot."""
    found: dict[str, list[str]] = {each.string: [] for each in stretches.values()}
    for said in comments:
        if said.clip is not None and said.frame is not None:
            stretch = stretches[said.clip]
            found[stretch.string].append(hanging.knot(stretch.share(said.frame)))
    return found


def _picture(said: Said, stretch: Stretch, *, alt: str) -> Picture:
    film, times = stretch.film
    return Picture(
        still=small_still(said.code),
        alt=alt,
        is_drawn_on=bool(said.is_drawn_on),
        frame=str(said.frame),
        until=str(said.last_frame or said.frame),
        first=str(stretch.clip.first_frame),
        last=str(stretch.clip.last_frame),
        film=film,
        times=times,
    )


def _whole_copies(recordings: Collection[int]) -> dict[int, Copy]:
    if not recordings:
        return {}
    copies = Rendition.objects.filter(clip=None, recording__in=recordings)
    facts = ("code", "first_frame", "timescale", "packed_times")
    return {whole: Copy(*row) for whole, *row in copies.values_list("recording_id", *facts)}
