"""A filmed evening, set up by hand: a recording with its copy, clips of it, comments on them."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from django.conf import settings

from portal.items.models import Verdict
from portal.people.models import Swimmer
from portal.recordings.models import (
    Clip,
    Effort,
    Recording,
    Rendition,
    Showing,
    View,
)
from portal.recordings.timing import pack_times
from portal.review.models import Comment, Review
from portal.technique.models import Caution, Checkpoint, Drill, Fault, Phase, Rule, Stroke
from tests.cast import NOW, Cast
from tests.media import film

HEELS = "The heels come right up before the feet turn out. Keep this one."
EARLY = "Your hands part a second after the wall, so the glide ends early. Ride it longer."
DOLPHINS = "Looks like a rule problem on this view: the feet beat down twice."
DECK = "Chin low on every breath today."


def record(
    cast: Cast,
    *,
    frames: int = 60,
    rate: Fraction | int = 30,
    ticks: Sequence[int] | None = None,
    size: tuple[int, int] = (640, 360),
) -> Recording:
    """A recording of numbered frames with its light copy."""
    recording = Recording.objects.create(
        session=cast.session,
        name=f"take {Recording.objects.count() + 1}.mov",
        filmed_by=cast.coach,
        uploaded_at=NOW,
        original="originals/take.mov",
        size=1,
        sha256="0" * 64,
        state=Recording.State.READY,
    )
    path = _folder() / f"{recording.code}.mp4"
    film(path, frames=frames, rate=rate, ticks=ticks, size=size)
    _copy(recording, None, Rendition.Kind.LIGHT, path)
    return recording


def cut(
    recording: Recording,
    *swimmers: Swimmer,
    first: int = 0,
    last: int = 59,
    stroke: str = Stroke.BREAST,
    effort: str = Effort.RACE,
) -> Clip:
    clip = Clip.objects.create(
        recording=recording,
        first_frame=first,
        last_frame=last,
        stroke=stroke,
        view=View.SIDE_UNDER,
        effort=effort,
        cut_by=recording.filmed_by,
        cut_at=NOW,
    )
    clip.swimmers.set(swimmers)
    return clip


def copy_clip(clip: Clip) -> Rendition:
    """The clip's own copy, for families: the same frames, here simply the whole film again."""
    [whole] = clip.recording.renditions.filter(clip=None)
    return _copy(clip.recording, clip, Rendition.Kind.FULL, Path(whole.file.path))


def comment(
    review: Review, clip: Clip | None, *, frame: int | None = None, **fields: Any
) -> Comment:
    fields = {"verdict": Verdict.GOOD, "words": HEELS, **fields}
    if fields["verdict"] == Verdict.GOOD:
        fields.setdefault("checkpoint", checkpoint())
    made = Comment.objects.create(
        session=review.session,
        clip=clip,
        frame=frame,
        author=review.session.created_by,
        created_at=NOW,
        changed_at=NOW,
        **fields,
    )
    made.reviews.add(review)
    return made


def open_review(cast: Cast, swimmer: Swimmer | None = None) -> Review:
    return Review.objects.create(session=cast.session, swimmer=swimmer or cast.swimmer)


def evening(cast: Cast) -> Review:
    """Praise, a focus with a drill, a warning, and a note from the deck; still a draft."""
    clip = cut(record(cast), cast.swimmer)
    review = open_review(cast)
    comment(review, clip, frame=12)
    review.focus = comment(
        review,
        clip,
        frame=30,
        verdict=Verdict.WORK_ON,
        words=EARLY,
        fault=fault(),
        cue="Ride the line.",
        drill=drill(),
        dose="6 x 15",
    )
    comment(
        review,
        clip,
        frame=45,
        verdict=Verdict.NOT_LEGAL,
        words=DOLPHINS,
        fault=fault_with_rule(),
    )
    comment(review, None, words=DECK)
    review.save(update_fields=["focus"])
    return review


def checkpoint() -> Checkpoint:
    name = "Heels close to the hips"
    point: Checkpoint = _term(Checkpoint, "kick-heels-high", name, good="Heels come up.")
    return point


def fault() -> Fault:
    return _fault("pullout-short-line", "Line given up too early", "Patient line off the wall")


def fault_with_rule() -> Fault:
    broken = _fault("pullout-two-dolphins", "Two dolphin kicks", "One small dolphin")
    broken.rules.add(
        _term(
            Rule,
            "one-dolphin",
            "One dolphin kick",
            paraphrase="A single butterfly kick is allowed.",
            seen_when_broken="Two downbeats.",
            citations=[
                {
                    "book": "World Aquatics",
                    "article": "SW 7.1",
                    "edition": "2017 to 2023",
                    "source": "numbering only",
                    "certainty": "from memory",
                },
            ],
        )
    )
    return broken


def drill() -> Drill:
    push: Drill = _term(
        Drill, "push-hold", "Push and ride", how="Push off and do nothing else.", dose="6 pushes"
    )
    push.cautions.add(_caution("breath-holding", "Come up whenever you like."))
    return push


def _fault(slug: str, name: str, good_form: str) -> Fault:
    point: Checkpoint = _term(Checkpoint, f"{slug}-good", good_form, good=good_form)
    made: Fault = _term(
        Fault,
        slug,
        name,
        checkpoint=point,
        severity=Fault.Severity.MAJOR,
        views="side-underwater",
        see=f"Seen: {name.lower()}.",
        cost="It costs speed.",
        cue="Ride the line.",
        cue_young="Be an arrow.",
    )
    made.cautions.add(_caution("turn-wall", "Know where the wall is."))
    return made


def _term(model: Any, slug: str, name: str, **fields: Any) -> Any:
    common = {"name": name, "strokes": " breast ", "phase": Phase.KICK}
    return model.objects.get_or_create(slug=slug, defaults={**common, **fields})[0]


def _caution(slug: str, text: str) -> Caution:
    return Caution.objects.get_or_create(slug=slug, defaults={"name": slug, "text": text})[0]


def show(clip: Clip, swimmer: Swimmer) -> None:
    Showing.objects.create(clip=clip, swimmer=swimmer, since=NOW)


def _folder() -> Path:
    folder = Path(settings.MEDIA_ROOT) / "copies"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _copy(recording: Recording, clip: Clip | None, kind: str, path: Path) -> Rendition:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        base = stream.time_base or Fraction(1)
        ticks = sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None)
        width, height = stream.width, stream.height
    return Rendition.objects.create(
        recording=recording,
        clip=clip,
        kind=kind,
        file=f"copies/{path.name}",
        size=path.stat().st_size,
        sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
        width=width,
        height=height,
        frame_count=len(ticks),
        timescale=base.denominator,
        packed_times=pack_times([tick * base.numerator for tick in ticks]),
        made_at=NOW,
    )
